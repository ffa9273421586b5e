"""What is wrong with a file that is no YAML, in words for somebody who never heard of YAML."""

import re
from collections.abc import Sequence

import yaml

_QUOTE_COLON = "put quotes round text that holds a colon"
_INDENT = "this line is indented differently from the lines it belongs to"
_NO_KEY = (
    "no key can stand here: the line above lacks its own key and colon, or this line is indented "
    "too far"
)
_OPENED = {"[": "the list opened here with [ is not closed with ]",
           "{": "the keys opened here with { are not closed with }"}  # fmt: skip
_BY_PROBLEM = (
    (r"^while scanning a quoted scalar", "the quotes opened here are not closed"),
    (r"escape", "\\ has a meaning in double quotes: use single quotes"),
    (r"(scanning|parsing) a tag|tag handle", "put quotes round text that starts with !"),
    (r"scanning an (alias|anchor)", "put quotes round text that starts with & or *"),
    (r"sequence entries are not allowed", "a list that starts with - begins on a line of its own"),
    (r"scanning a block scalar", "put quotes round text that starts with | or >"),
    (r"directive|incompatible|percent", "a line that starts with % is no part of a {kind} file"),
    (r"maximum nesting", "nested too deep for a {kind} file"),
    (r"document start", "nothing may follow the end of the {kind}"),
)  # fmt: skip


def in_words(
    error: yaml.MarkedYAMLError, lines: Sequence[str], kind: str
) -> tuple[tuple[int, int], str]:
    """Line and column (from 1) and message of a parser's error.

    Args:
        error: what the parser says.
        lines: those of the file.
        kind: of what the file is one, such as ``job``.

    Both loaders of PyYAML come to the same words, for they differ in theirs.
    """
    at = _mark(error.problem_mark) or _mark(error.context_mark) or (1, 1)
    since = _mark(error.context_mark) or at
    said = f"{error.context or ''}: {error.problem or ''}"
    for rule in (_tab, _flow, _colon, _key):
        answer = rule(said, at, since, lines)
        if answer:
            return answer
    return _other(said, at, since, kind) or (at, f"not readable as YAML ({error.problem})")


_Answer = tuple[tuple[int, int], str] | None
_Place = tuple[int, int]


def _tab(said: str, at: _Place, _since: _Place, lines: Sequence[str]) -> _Answer:
    """A tab that indents, or a character that begins no text."""
    char = _char(lines, at)
    if char == "\t" or "a tab character" in said:
        return at, "a tab can't indent: use spaces"
    if "cannot start any token" in said or "node content" in said:
        words = f"put quotes round text that holds {char}"
        return at, words if char else "something is missing here"
    return None


def _flow(said: str, at: _Place, since: _Place, lines: Sequence[str]) -> _Answer:
    """A list or keys in brackets that go wrong."""
    if "parsing a flow" not in said:
        return None
    if at[0] == since[0] and _char(lines, at) == ":":
        return at, _QUOTE_COLON
    opened = _OPENED.get(_char(lines, since), "a bracket is not closed")
    return since, f"{opened}, or a comma is missing"


def _colon(said: str, at: _Place, _since: _Place, lines: Sequence[str]) -> _Answer:
    """A colon where none can be: a second one in the line, or a line that went in too far."""
    if "mapping values are not allowed" not in said:
        return None
    before = _line(lines, at)[: at[1] - 1]
    return at, _QUOTE_COLON if re.search(r":\s", before) else _NO_KEY


def _key(said: str, at: _Place, since: _Place, lines: Sequence[str]) -> _Answer:
    """A line without a key, or at the wrong depth."""
    if "could not find expected ':'" in said:
        return since, "this line needs a key and a colon, as in 'work: 3 h'"
    if "parsing a block" not in said:
        return None
    alone = not _line(lines, at)[: at[1] - 1].strip()
    return at, _INDENT if alone else "put quotes round the whole text, not round a part of it"


def _other(said: str, at: _Place, since: _Place, kind: str) -> _Answer:
    for pattern, words in _BY_PROBLEM:
        if re.search(pattern, said):
            return (since if "quotes opened" in words else at), words.format(kind=kind)
    return None


def _mark(mark: yaml.Mark | None) -> _Place | None:
    return (mark.line + 1, mark.column + 1) if mark else None


def _line(lines: Sequence[str], at: _Place) -> str:
    return lines[at[0] - 1] if at[0] <= len(lines) else ""


def _char(lines: Sequence[str], at: _Place) -> str:
    return _line(lines, at)[at[1] - 1 : at[1]]
