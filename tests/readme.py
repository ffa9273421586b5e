"""What README.md shows is what the program prints: its commands run, its outputs put in anew.

``python -m tests.readme`` writes README.md with today's output.
"""

import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[1]
README = ROOT / "README.md"
_BLOCK = re.compile(r"(?<=^```console\n).*?(?=^```$)", re.DOTALL | re.MULTILINE)
_FILE = re.compile(r"^```yaml\n(# (\S+\.yaml)\n.*?)^```$", re.DOTALL | re.MULTILINE)
_SAID = ("PYTHON", "LC_", "LANG", "COLUMNS", "TERM")


def commands(text: str) -> list[str]:
    """The commands that a reader is shown."""
    return [command for block in _BLOCK.findall(text) for command in _commands_of(block)]


def files(text: str) -> dict[str, str]:
    """The files that a reader is shown, by the names that they begin with."""
    return {name: content for content, name in _FILE.findall(text)}


def regenerated(text: str, folder: Path) -> str:
    """The text with what its commands print, one after the other, in a folder of their own.

    The folder gets the examples and the files that the text shows.
    """
    shutil.copytree(ROOT / "examples", folder / "examples")
    for name, content in files(text).items():
        (folder / name).write_text(content, encoding="utf-8")
    return _BLOCK.sub(lambda found: "".join(_outputs(found[0], folder)), text)


def _commands_of(block: str) -> list[str]:
    return [line.removeprefix("$ ") for line in block.splitlines() if line.startswith("$ ")]


def _outputs(block: str, folder: Path) -> Iterator[str]:
    for command in _commands_of(block):
        yield f"$ {command}\n{_output(command, folder)}"


def _output(command: str, folder: Path) -> str:
    """What a terminal would show of a command."""
    kept = {key: value for key, value in os.environ.items() if not key.startswith(_SAID)}
    with tempfile.TemporaryDirectory() as programs:
        program = Path(programs) / "thenwait"
        program.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m scheduler "$@"\n')
        program.chmod(0o755)
        path = f"{programs}{os.pathsep}{os.environ['PATH']}"
        ended = subprocess.run(
            ["/bin/sh", "-c", command],
            cwd=folder,
            env={**kept, "PATH": path, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "utf-8"},
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            check=False,
        )
    return ended.stdout.decode()


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as place:
        README.write_text(regenerated(README.read_text("utf-8"), Path(place)), "utf-8")
