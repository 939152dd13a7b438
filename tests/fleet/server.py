"""A real PostgreSQL server for the tests, on a socket in a folder of its own."""

import os
import pwd
import shutil
import subprocess
import tempfile
from pathlib import Path
from typing import Any

import psycopg

OWNER = "keeper"
PASSWORD = "s3cret/of:the@fleet"


def programs() -> Path | None:
    """Give the folder of the server's programs; Debian keeps them out of PATH."""
    found = shutil.which("pg_ctl")
    if found is not None:
        return Path(found).resolve().parent
    versions = sorted(
        Path("/usr/lib/postgresql").glob("*/bin/pg_ctl"),
        key=lambda path: float(path.parts[-3]) if path.parts[-3].isdecimal() else 0.0,
    )
    return versions[-1].parent if versions else None


def _other_user() -> dict[str, Any]:
    """Give what makes a program run as somebody else: as root the server refuses to run."""
    if os.geteuid() != 0:
        return {}
    for name in ("postgres", "nobody"):
        try:
            entry = pwd.getpwnam(name)
        except KeyError:
            continue
        return {"user": entry.pw_uid, "group": entry.pw_gid, "extra_groups": []}
    raise AssertionError("neither postgres nor nobody is a user of this machine")


class Server:
    """A server: made, started, stopped and taken away."""

    def __init__(self, where: Path) -> None:
        self._programs = where
        # not in pytest's folder, which only its owner may enter; and a socket's path is short
        self.folder = Path(tempfile.mkdtemp(prefix="voiceflow-pg-"))
        self._as_user = _other_user()
        if self._as_user:
            os.chown(self.folder, self._as_user["user"], self._as_user["group"])
        secret = self.folder / "password"
        secret.write_text(PASSWORD, encoding="utf-8")
        secret.chmod(0o644)
        self._run(
            "initdb",
            *("--pgdata", str(self.folder / "data"), "--username", OWNER, "--no-sync"),
            *("--auth", "scram-sha-256", "--pwfile", str(secret)),
            *("--encoding", "UTF8", "--locale", "C"),
        )
        rules = self.folder / "data" / "pg_hba.conf"
        rules.write_text(f"local refused all reject\n{rules.read_text()}")
        self.start()

    def start(self) -> None:
        # no port, only the socket; what is lost in a power cut does not matter here
        options = f"-c listen_addresses='' -k {self.folder} -F"
        log = str(self.folder / "log")
        self._run(
            "pg_ctl", "-D", str(self.folder / "data"), "-w", "-l", log, "-o", options, "start"
        )

    def stop(self) -> None:
        self._run("pg_ctl", "-D", str(self.folder / "data"), "-w", "-m", "fast", "stop")

    def take_away(self) -> None:
        data = str(self.folder / "data")
        self._run("pg_ctl", "-D", data, "-m", "immediate", "stop", is_needed=False)
        shutil.rmtree(self.folder)

    def connect(self, database: str = "postgres", **more: Any) -> psycopg.Connection:
        """Connect as the owner, past our own code."""
        more = {"user": OWNER, "password": PASSWORD} | more
        return psycopg.connect(host=str(self.folder), dbname=database, autocommit=True, **more)

    def make_database(self, name: str, more: str = "") -> None:
        with self.connect() as connection:
            connection.execute(f'CREATE DATABASE "{name}" {more}'.encode())

    def url(self, database: str, *, user: str = OWNER, password: str = PASSWORD) -> str:
        coded = password.replace("/", "%2F").replace(":", "%3A").replace("@", "%40")
        return f"postgresql://{user}:{coded}@/{database}?host={self.folder}"

    def _run(self, program: str, *arguments: str, is_needed: bool = True) -> None:
        # into a file, not a pipe: the server would keep that open
        with (self.folder / "out").open("ab") as out:
            done = subprocess.run(
                [str(self._programs / program), *arguments],
                cwd=self.folder,
                stdin=subprocess.DEVNULL,
                stdout=out,
                stderr=subprocess.STDOUT,
                check=False,
                **self._as_user,
            )
        if is_needed and done.returncode:
            told = (self.folder / "out").read_text(errors="replace")
            raise AssertionError(f"{program}: status {done.returncode}\n{told}")
