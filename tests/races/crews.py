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
    done = subprocess.run(
        [sys.executable, str(_CREW), str(crews), *options],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "DATABASE_URL": database_url()},
        timeout=900,
        check=True,
    )
    told = (word.split("=") for word in done.stdout.split())
    return Counter({code: int(count) for code, count in told})


def database_url():
    """Return the address of the database that the tests use, for another process."""
    database = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{database['NAME']}"
    host = str(database["HOST"]).replace("/", "%2F")
    port = f":{database['PORT']}" if database["PORT"] else ""
    password = f":{database['PASSWORD']}" if database["PASSWORD"] else ""
    return f"postgresql://{database['USER']}{password}@{host}{port}/{database['NAME']}"
