"""Which file system a path lies on: SQLite's locks hold only between programs of one computer."""

import os
import re
from pathlib import Path

NETWORK = frozenset(
    (
        *("nfs", "nfs4", "cifs", "smb3", "smbfs", "afs", "ncpfs", "ceph", "glusterfs", "lustre"),
        *("davfs", "gpfs", "beegfs", "ocfs2"),
        *("fuse.sshfs", "fuse.glusterfs", "fuse.ceph-fuse", "fuse.rclone", "fuse.s3fs"),
        *("fuse.gcsfuse", "fuse.davfs", "fuse.curlftpfs", "fuse.smbnetfs"),
    )
)
"""Types that computers share, as Linux names them in its list of mounts."""

_MOUNTINFO = Path("/proc/self/mountinfo")


def network_type(path: Path, mountinfo: str | None = None) -> str | None:
    """The network file system's type (``nfs4``) under ``path``, or None for a local disk.

    ``mountinfo`` is the text of Linux's list of mounts (proc(5)); without it the system's own is
    read, and where there is none (other systems) the answer is None.
    """
    if mountinfo is None:
        try:
            mountinfo = _MOUNTINFO.read_text(encoding="utf-8", errors="surrogateescape")
        except OSError:
            return None
    kind = _type_under(path.resolve(), mountinfo)
    return kind if kind in NETWORK else None


def _type_under(path: Path, mountinfo: str) -> str:
    longest, kind = -1, ""
    for line in mountinfo.splitlines():
        left, mark, right = line.partition(" - ")
        fields = left.split()
        if not mark or len(fields) < 5 or not right.split():
            continue
        point = Path(_unescaped(fields[4]))
        if path.is_relative_to(point) and len(point.parts) >= longest:
            longest, kind = len(point.parts), right.split()[0]
    return kind


def _unescaped(field: str) -> str:
    """proc(5) writes a space in a mount point as ``\\040``."""
    raw = re.sub(rb"\\([0-7]{3})", lambda m: bytes([int(m[1], 8)]), os.fsencode(field))
    return os.fsdecode(raw)
