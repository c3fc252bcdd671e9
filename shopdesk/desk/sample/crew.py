"""Who works in the sample: picked by role, and who may witness whom."""

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Member:
    initials: str
    name: str
    role: str
    pin: str
    skills: tuple[str, ...] = ()

    @property
    def signature(self) -> str:
        return f"{self.initials} {self.pin}"


@dataclass(frozen=True, slots=True)
class Crew:
    """Everybody of the shop. At least one of each role."""

    members: tuple[Member, ...]

    def role(self, role: str) -> tuple[Member, ...]:
        return tuple(member for member in self.members if member.role == role)

    def one(self, initials: str) -> Member:
        return next(member for member in self.members if member.initials == initials)

    def beside(self, busy: Iterable[str], role: str = "") -> Member:
        """Somebody who is not among ``busy``: a technician, or of the role asked for."""
        taken = frozenset(busy)
        wanted = (role,) if role else ("technician", "manager", "counter")
        for kind in (*wanted, "manager"):
            free = [member for member in self.role(kind) if member.initials not in taken]
            if free:
                return free[len(taken) % len(free)]
        raise LookupError("nobody is left to sign")
