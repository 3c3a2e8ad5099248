"""Many crews at once, each a process of its own."""

import os
import subprocess
import sys
from collections import Counter
from pathlib import Path

from django.db import connection

_CREW = Path(__file__).with_name("crew.py")


def race(crews: int, *options: str) -> Counter[str]:
    """Let all crews begin at the same moment; return what they say in sum."""
    started = [_start(number, options) for number in range(crews)]
    for crew in started:
        assert crew.stdout.readline() == "ready\n"
    for crew in started:
        crew.stdin.write("go\n")
        crew.stdin.flush()
    told: Counter[str] = Counter()
    for crew in started:
        said, _ = crew.communicate(timeout=240)
        assert crew.returncode == 0
        told.update({word.split("=")[0]: int(word.split("=")[1]) for word in said.split()})
    return told


def _start(number, options):
    return subprocess.Popen(
        [sys.executable, str(_CREW), str(number), *options],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "DATABASE_URL": _url()},
    )


def _url():
    database = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{database['NAME']}"
    host = str(database["HOST"]).replace("/", "%2F")
    port = f":{database['PORT']}" if database["PORT"] else ""
    password = f":{database['PASSWORD']}" if database["PASSWORD"] else ""
    return f"postgresql://{database['USER']}{password}@{host}{port}/{database['NAME']}"
