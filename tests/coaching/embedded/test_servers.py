"""Starting, sharing, losing and finding again real servers."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any
from urllib.parse import quote

import psutil
import psycopg
import pytest
import redis

from coaching.embedded import EmbeddedServerError, erase, find_running, start
from tests.coaching.embedded.leftovers import base_of, home, postmaster, processes_under, valkey

SYSTEM_PROGRAMS = sorted(
    folder for folder in Path("/usr/lib/postgresql").glob("*/bin") if int(folder.parent.name) >= 15
)

STARTER = """
import sys
from pathlib import Path
import psycopg, redis
from coaching.embedded import start
servers = start(Path(sys.argv[1]))
with psycopg.connect(servers.owner_url) as connection:
    connection.execute("CREATE TABLE kept (id int); INSERT INTO kept VALUES (1)")
redis.from_url(servers.redis_url).rpush("queue", *range(50))
print("ready", flush=True)
sys.stdin.read()
servers.stop()
"""


def starter(project: Path) -> subprocess.Popen[str]:
    """Another process that has started the servers, written to both, and waits for the end of its input."""
    process = subprocess.Popen(
        [sys.executable, "-c", STARTER, str(project)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        cwd=Path(__file__).resolve().parents[3],
    )
    assert process.stdout is not None
    assert process.stdout.readline() == "ready\n"
    return process


def end_input(process: subprocess.Popen[str]) -> None:
    process.communicate(timeout=60)
    assert process.returncode == 0


def kept(url: str) -> list[Any]:
    with psycopg.connect(url) as connection:
        return connection.execute("SELECT id FROM kept").fetchall()


def test_the_urls_lead_to_both_servers_as_libpq_and_redis_clients_read_them(project: Path) -> None:
    with start(project, durable=False) as servers:
        sockets = quote(str(servers.sockets), safe="")
        assert servers.service_url == f"postgresql://counterpoise_service@{sockets}:5432/counterpoise"
        for url, role in (
            (servers.service_url, "counterpoise_service"),
            (servers.owner_url, "counterpoise_owner"),
            (servers.backup_url, "counterpoise_backup"),
        ):
            with psycopg.connect(url) as connection:
                row = connection.execute("SELECT current_user, current_database()").fetchone()
            assert row == (role, "counterpoise")
        assert redis.from_url(servers.redis_url).ping()


def test_django_and_celery_reach_the_servers_by_their_urls(project: Path) -> None:
    script = (
        "import sys, dj_database_url, django, kombu\n"
        "from django.conf import settings\n"
        "settings.configure(DATABASES={'default': dj_database_url.parse(sys.argv[1])})\n"
        "django.setup()\n"
        "from django.db import connection\n"
        "with connection.cursor() as cursor:\n"
        "    cursor.execute('SELECT current_user')\n"
        "    print(cursor.fetchone()[0])\n"
        "with kombu.Connection(sys.argv[2]) as broker:\n"
        "    broker.ensure_connection(max_retries=1)\n"
        "    queue = broker.SimpleQueue('seen')\n"
        "    queue.put('published')\n"
        "    print(queue.get(timeout=5).payload)\n"
    )
    with start(project, durable=False) as servers:
        printed = subprocess.run(
            [sys.executable, "-c", script, servers.service_url, servers.broker_url],
            capture_output=True,
            text=True,
            check=True,
        )
    assert printed.stdout.split() == ["counterpoise_service", "published"]


def test_a_clean_stop_leaves_no_process_and_loses_nothing(project: Path) -> None:
    end_input(starter(project))
    assert processes_under(base_of(project)) == []
    assert find_running(project) is None
    with start(project) as servers:
        assert not servers.adopted
        assert kept(servers.service_url) == [(1,)]
        assert redis.from_url(servers.redis_url).llen("queue") == 50
    assert processes_under(base_of(project)) == []


def test_servers_whose_starter_was_killed_are_adopted_with_all_they_held_and_stopped_by_the_adopter(
    project: Path,
) -> None:
    killed = starter(project)
    before = {process.pid for process in processes_under(base_of(project))}
    killed.kill()
    killed.communicate(timeout=30)
    with start(project) as servers:
        assert servers.adopted
        assert {process.pid for process in processes_under(base_of(project))} == before
        assert kept(servers.service_url) == [(1,)]
        assert redis.from_url(servers.redis_url).llen("queue") == 50
    assert processes_under(base_of(project)) == []


def test_two_users_share_the_servers_and_the_last_to_let_go_stops_them(project: Path) -> None:
    first = starter(project)
    second = start(project)
    assert second.adopted
    end_input(first)
    assert kept(second.service_url) == [(1,)]
    assert second.stop()
    assert processes_under(base_of(project)) == []


def test_the_one_who_adopted_leaves_the_servers_to_the_one_who_started_them(project: Path) -> None:
    first = starter(project)
    adopter = start(project)
    assert not adopter.stop()
    assert not adopter.stop()
    assert len(processes_under(base_of(project))) == 2
    end_input(first)
    assert processes_under(base_of(project)) == []


def test_two_processes_that_start_at_once_end_up_with_one_pair(new_project: Path) -> None:
    code = (
        "import sys; from pathlib import Path; from coaching.embedded import start\n"
        "servers = start(Path(sys.argv[1]), durable=False)\n"
        "print(servers.service_url, flush=True); sys.stdin.read(); servers.stop()"
    )
    both = [
        subprocess.Popen(
            [sys.executable, "-c", code, str(new_project)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            cwd=Path(__file__).resolve().parents[3],
        )
        for _ in range(2)
    ]
    urls = {process.stdout.readline() for process in both if process.stdout}
    assert len(urls) == 1
    assert len(processes_under(base_of(new_project))) == 2
    for process in both:
        end_input(process)
    assert processes_under(base_of(new_project)) == []


def test_ctrl_c_in_the_terminal_reaches_the_starter_and_not_the_servers(project: Path) -> None:
    with start(project, durable=False):
        sessions = {os.getsid(process.pid) for process in processes_under(base_of(project))}
        assert os.getsid(0) not in sessions


def test_a_forked_child_neither_stops_the_servers_nor_lets_go_of_them(project: Path) -> None:
    servers = start(project, durable=False)
    child = os.fork()
    if child == 0:
        os._exit(1 if servers.stop() else 0)
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0
    assert len(processes_under(base_of(project))) == 2
    assert servers.stop()


def test_servers_left_running_on_purpose_are_found_and_adopted(project: Path) -> None:
    start(project, durable=False).leave_running()
    found = find_running(project)
    assert found is not None
    with start(project, durable=False) as servers:
        assert servers.adopted
        assert servers.service_url == found.service_url


def test_a_killed_postgresql_recovers_what_was_committed(project: Path) -> None:
    first = starter(project)
    os.kill(postmaster(project).pid, signal.SIGKILL)
    with start(project) as servers:
        assert not servers.adopted
        assert kept(servers.service_url) == [(1,)]
    end_input(first)


def test_a_killed_postgresql_comes_back_while_an_old_session_was_busy(project: Path) -> None:
    first = starter(project)
    running = start(project)
    with psycopg.connect(running.owner_url, autocommit=True) as busy:
        busy.execute("BEGIN; INSERT INTO kept VALUES (2)")
        os.kill(postmaster(project).pid, signal.SIGKILL)
        with start(project) as servers:
            assert kept(servers.service_url) == [(1,)]
        with pytest.raises(psycopg.OperationalError):
            busy.execute("COMMIT")
    running.stop()
    end_input(first)


def test_a_killed_valkey_comes_back_with_its_queue_while_postgresql_is_adopted(project: Path) -> None:
    first = starter(project)
    before = postmaster(project).pid
    with start(project) as watching:
        # The file is written once a second; waiting for the server to say so is no guess at time.
        redis.from_url(watching.redis_url).waitaof(1, 0, 10_000)
        os.kill(valkey(project).pid, signal.SIGKILL)
        with start(project) as servers:
            assert not servers.adopted
            assert postmaster(project).pid == before
            assert redis.from_url(servers.redis_url).llen("queue") == 50
    end_input(first)


def stranger_of(account_uid: int) -> subprocess.Popen[bytes]:
    """A process of the servers' user that has nothing to do with them."""
    user = account_uid if os.geteuid() == 0 else None
    return subprocess.Popen(["/bin/sh", "-c", "read line"], stdin=subprocess.PIPE, cwd="/", user=user)


def test_pid_files_whose_numbers_now_belong_to_a_stranger_do_not_mislead(project: Path) -> None:
    first = starter(project)
    for process in processes_under(base_of(project)):
        process.kill()
        psutil.wait_procs([process], timeout=10)
    first.kill()
    first.communicate(timeout=30)
    place = home(project)
    with stranger_of(place.account.uid) as stranger:
        for path in (place.folder / "postgresql" / "postmaster.pid", place.sockets / ".s.PGSQL.5432.lock"):
            path.write_text("\n".join([str(stranger.pid), *path.read_text().split("\n")[1:]]))
        (place.folder / "valkey.pid").write_text(str(stranger.pid))
        assert find_running(project) is None
        with start(project) as servers:
            assert kept(servers.service_url) == [(1,)]
            assert redis.from_url(servers.redis_url).llen("queue") == 50
        assert stranger.poll() is None
        stranger.communicate(b"\n")


def test_a_data_folder_left_half_made_is_made_again(new_project: Path) -> None:
    start(new_project, durable=False).stop()
    folder = home(new_project).folder
    (folder / "postgresql").rename(folder / "postgresql.new")
    (folder / "postgresql.new" / "PG_VERSION").unlink()
    with start(new_project, durable=False) as servers, psycopg.connect(servers.service_url) as connection:
        assert connection.execute("SELECT 1").fetchone() == (1,)
    assert not (folder / "postgresql.new").exists()


def test_durable_servers_keep_commits_through_a_power_cut_and_fast_ones_are_restarted_to_do_so(
    project: Path,
) -> None:
    query = "SELECT current_setting('fsync'), current_setting('synchronous_commit')"
    fast = start(project, durable=False)
    with psycopg.connect(fast.service_url) as connection:
        assert connection.execute(query).fetchone() == ("off", "off")
    with pytest.raises(EmbeddedServerError, match="Use another name"):
        start(project)
    fast.leave_running()
    with start(project) as servers, psycopg.connect(servers.service_url) as connection:
        assert connection.execute(query).fetchone() == ("on", "on")
        append_only = redis.from_url(servers.redis_url, decode_responses=True).config_get("append*")
    assert append_only["appendonly"] == "yes"
    assert append_only["appendfsync"] == "everysec"


def test_names_have_servers_and_data_of_their_own(project: Path) -> None:
    with start(project, durable=False) as one, start(project, name="other", durable=False) as other:
        assert one.sockets != other.sockets
        with psycopg.connect(one.owner_url) as connection:
            connection.execute("CREATE TABLE kept (id int)")
        with pytest.raises(psycopg.errors.UndefinedTable):
            kept(other.owner_url)


def test_erasing_forgets_everything_but_not_under_another_user_of_it(project: Path) -> None:
    first = starter(project)
    with pytest.raises(EmbeddedServerError, match="in use by another process"):
        erase(project)
    end_input(first)
    erase(project)
    assert not home(project).folder.exists()
    with start(project, durable=False) as servers, pytest.raises(psycopg.errors.UndefinedTable):
        kept(servers.service_url)


@pytest.mark.parametrize("bin_dir", [None, *SYSTEM_PROGRAMS], ids=str)
def test_programs_of_another_place_serve_as_well_with_data_of_their_own(
    project: Path, monkeypatch: pytest.MonkeyPatch, bin_dir: Path | None
) -> None:
    if bin_dir is not None:
        monkeypatch.setenv("COUNTERPOISE_PG_BIN", str(bin_dir))
    major = int(bin_dir.parent.name) if bin_dir else 18
    with start(project, durable=False) as servers, psycopg.connect(servers.service_url) as connection:
        assert connection.info.server_version // 10000 == major
        assert connection.execute("SELECT upper('é'), 'a' < 'Z'").fetchone() == ("É", False)
        assert servers.sockets == home(project, major=major).sockets
    assert processes_under(base_of(project)) == []
