"""README.md shows real output, names every command and option, and its job file is a job."""

import difflib
import os
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
import typer

from scheduler.cli import app
from scheduler.jobfile import parse
from scheduler.planner import plan_job
from scheduler.verify import check
from tests.readme import README, ROOT, commands, files, regenerated

TEXT = README.read_text(encoding="utf-8")


@pytest.mark.skipif(os.name != "posix", reason="the commands are for a POSIX shell")
def test_the_outputs_shown_are_those_of_today(tmp_path: Path) -> None:
    today = regenerated(TEXT, tmp_path).splitlines()
    changed = "\n".join(difflib.unified_diff(TEXT.splitlines(), today, "README.md", "today", n=1))
    assert not changed, f"write it anew: python -m tests.readme\n{changed}"


def test_every_kind_of_answer_is_shown() -> None:
    shown = " | ".join(commands(TEXT))
    for command in ("plan", "ready", "products"):
        assert f"thenwait {command} " in shown
    for words in ("exit code 0\n", "exit code 1\n", "exit code 3\n", "nothing broken\n"):
        assert words in TEXT


def options() -> Iterator[tuple[str, str]]:
    """Every option with its command."""
    group = typer.main.get_command(app)
    yield from (("", name) for parameter in group.params for name in parameter.opts)
    for command, each in group.commands.items():  # type: ignore[attr-defined]
        opts = [name for parameter in each.params for name in parameter.opts]
        yield from ((command, name) for name in [*opts, "-h", "--help"] if name.startswith("-"))


@pytest.mark.parametrize(("command", "option"), [*options()])
def test_every_command_and_option_is_explained(command: str, option: str) -> None:
    rows = [line for line in TEXT.splitlines() if line.startswith("| `")]
    assert any(row.startswith(f"| `thenwait {command}".rstrip()) for row in rows)
    of = [row.split("|")[2] for row in rows if re.search(rf"`{option}[ `]", row.split("|")[1])]
    assert len(of) == 1
    assert not command or command in of[0] or of[0].strip() == "all"


@pytest.mark.parametrize("name", ["tub-wall.yaml"])
def test_the_job_file_shown_is_a_job_whose_plan_keeps_every_rule(name: str) -> None:
    job = parse(files(TEXT)[name].encode(), name)
    assert check(job, plan_job(job)) == ()


def test_every_key_of_a_job_and_of_a_task_is_in_the_tables() -> None:
    from scheduler.jobfile import schema

    keys = {*schema()["properties"]}
    keys |= {*schema()["properties"]["tasks"]["additionalProperties"]["properties"]}
    rows = "".join(line.split("|")[1] for line in TEXT.splitlines() if line.startswith("| `"))
    assert {key for key in keys if f"`{key}`" not in rows} == set()


def test_there_are_two_commands_and_the_checks_run_the_second() -> None:
    set_up = re.findall(r"^python3 -m venv .*$", TEXT, re.MULTILINE)
    plans, tests = set_up
    assert plans.endswith("install -q -e . && .venv/bin/thenwait plan examples/larch-row.yaml")
    assert tests.endswith("install -q -e '.[test]' && .venv/bin/python -m pytest")
    assert re.findall(r"^python3 .*-m pytest$", TEXT, re.MULTILINE) == [tests]
    assert "grep -E '^python3 .*-m pytest$' README.md" in (ROOT / ".ci" / "run").read_text()


def test_dangers_are_told_before_the_tour() -> None:
    # 29 CFR 1926.1153 (silica), 40 CFR 745 (lead before 1978), 40 CFR 61 Subpart M (asbestos),
    # NEC 210.8 (GFCI), 29 CFR 1926.57 (ventilation): from memory, as the facts in the examples.
    before = TEXT.partition("## A tour")[0].lower()
    for word in ("silica", "1978", "asbestos", "gfci", "flood test", "carbon monoxide",
                 "wet cement", "label", "code", "licensed"):  # fmt: skip
        assert word in before
