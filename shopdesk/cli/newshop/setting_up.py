"""What the steps have in common: the record, who signs, whom to ask."""

from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from shopdesk.cli.asking.answers import write_whole
from shopdesk.cli.asking.asker import Asker
from shopdesk.errors import RecordFault, Refused

if TYPE_CHECKING:
    from shopdesk.desk.shop import Shop
    from shopdesk.procedure import Procedure
    from shopdesk.rules.shop import ShopRules
    from shopdesk.views.beginning import Beginning


@dataclass
class SettingUp:
    """``signs`` is "MK 4821" once it is known; ``today`` the day all of it begins."""

    ask: Asker
    shop: "Shop"
    folder: Path
    today: date
    signs: str = ""
    told: list[str] = field(default_factory=list)  # what is still missing at the end

    @property
    def who(self) -> str:
        return self.signs.partition(" ")[0]

    def so_far(self) -> "Beginning":
        from shopdesk.views import beginning

        with self.shop.read() as db:
            return beginning.so_far(db)

    def rules(self) -> "ShopRules":
        from shopdesk.views import documents

        with self.shop.read() as db:
            return documents.rules(db)

    def procedures(self) -> "tuple[Procedure, ...]":
        from shopdesk.views import documents

        with self.shop.read() as db:
            return documents.newest(db)

    def done(self, sentence: str) -> None:
        """A step is in the record: its answers need not be kept any more."""
        self.ask.settle()
        click.echo(f"\n  {sentence}")

    def write(self, name: str, text: str) -> None:
        """A copy of what is in force, to be read and edited; one that is there stays."""
        path = self.folder / name
        try:
            write_whole(path, text)
        except RecordFault as fault:
            click.echo(f"  {fault}")

    def sign(self) -> str:
        """Initials and PIN of a manager, asked where nobody signed yet in this session."""
        if not self.signs:
            self.signs = self.ask.secret(
                "signs", "A manager signs for it: initials, a space, PIN", self._signed
            )
        return self.signs

    def _signed(self, text: str) -> str:
        from shopdesk.desk import signing

        person = signing.sign_in(self.shop, text)
        if person.role != "manager":
            raise Refused(f"{person.initials} is a {person.role}; a manager sets up a shop")
        return text
