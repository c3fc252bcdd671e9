"""A database on a network file system is refused; lines as proc(5) describes them."""

from pathlib import Path

import pytest

from shopdesk.errors import RecordFault
from shopdesk.records import mounts, sqlite
from shopdesk.records.engine import open_record

MOUNTS = r"""22 1 254:1 / / rw,relatime shared:1 - ext4 /dev/vda1 rw
36 22 0:35 / /srv/shop rw,relatime shared:9 - nfs4 server:/shop rw,vers=4.2
37 36 254:1 /local /srv/shop/local rw - ext4 /dev/vdb rw
38 22 0:40 / /mnt/old\040share rw,nosuid - cifs //server/share rw
39 22 0:41 / /home/pat/far rw,nosuid - fuse.sshfs pat@server:/ rw
40 22 0:42 / /auto rw - autofs systemd-1 rw
41 40 0:43 / /auto rw - nfs server:/auto rw
a line that means nothing
"""


@pytest.mark.parametrize(
    ("path", "kind"),
    [
        ("/var/lib/shop.db", None),
        ("/srv/shop/shop.db", "nfs4"),
        ("/srv/shopping/shop.db", None),
        ("/srv/shop/local/shop.db", None),
        ("/mnt/old share/shop.db", "cifs"),
        ("/home/pat/far/deep/down/shop.db", "fuse.sshfs"),
        ("/auto/shop.db", "nfs"),
    ],
)
def test_the_mount_a_path_lies_on(path: str, kind: str | None) -> None:
    assert mounts.network_type(Path(path), MOUNTS) == kind


def test_a_link_is_followed(tmp_path: Path) -> None:
    (tmp_path / "away").symlink_to("/srv/shop")
    assert mounts.network_type(tmp_path / "away" / "shop.db", MOUNTS) == "nfs4"


def test_a_disk_of_this_computer_passes(tmp_path: Path) -> None:
    assert mounts.network_type(tmp_path) is None


def test_a_record_there_is_neither_opened_nor_made(
    sqlite_url: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sqlite, "network_type", lambda _path: "nfs4")
    with pytest.raises(RecordFault, match=r"network file system \(nfs4\).*use PostgreSQL"):
        open_record(sqlite_url)
    with pytest.raises(RecordFault, match="network file system"):
        open_record(str(tmp_path / "new.db"), create=True)
