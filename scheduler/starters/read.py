"""Answers from a file, from options and from defaults, all read by the one form.

What the owner gives beats a starter's own default, and that the shared one.
"""

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import replace
from typing import Literal, cast

from scheduler.errors import BadFile, BadInput, did_you_mean
from scheduler.quantities import show_length
from scheduler.starters.answers import ANSWERS, Answers
from scheduler.starters.files import Starter, shared, starters
from scheduler.starters.sizes import Takeoff
from scheduler.starters.values import Size, TileSize
from scheduler.starters.yamltext import items, scalar
from scheduler.yamlform.fields import Place
from scheduler.yamlform.tree import TOP, Block, Items, Node, Report, Text, Unreadable, tree

ALWAYS_ASKED = ("what", "units")
Given = Mapping[str, tuple[Text, Node]]
"""Keys with their values, as in a block."""

_NO_FILE = "the answers"
_KIND = "questionnaire"  # completes "no part of a ... file"


def read_answers(
    content: bytes | None,
    name: str,
    options: Mapping[str, str],
    supposed: Mapping[str, str],
) -> Answers:
    """The answers, every one of them.

    Args:
        content: the bytes of an answers file; None for none.
        name: what the file is called in messages.
        options: answers given one by one; they beat the file.
        supposed: answers to take where neither gives one, such as a time zone.

    Raises:
        BadFile: with everything wrong in the file.
        BadInput: an option, or what is left without a file, can't be understood.
    """
    for key, text in options.items():
        if wrong := problem(key, text):
            raise BadInput(wrong)
    report = Report(name if content is not None else _NO_FILE, _KIND)
    try:
        given = _pairs(_tree(content, report)) | _texts(options)
        answers = _answers(given, _texts(supposed), report)
    except Unreadable:
        raise _error(content, report) from None
    if report.problems:
        raise _error(content, report)
    return answers


def problem(key: str, text: str) -> str:
    """What is wrong with one answer, as a sentence; nothing where it is right."""
    if key not in ANSWERS.keys:
        near = did_you_mean(key, ANSWERS.keys) or f"; known: {', '.join(ANSWERS.keys)}"
        return f"unknown answer '{key}'{near}"
    report = Report("", _KIND)
    with suppress(Unreadable):
        ANSWERS.keys[key].reader.read(text_node(text), Place(f"'{key}'", TOP), report)
    return "; ".join(problem_.message for problem_ in report.problems)


def text_node(text: str) -> Text:
    """What somebody typed, without what no file can hold."""
    return Text("".join(c for c in text if c.isprintable()).strip(), TOP)


def defaults(starter: Starter, units: str) -> Given:
    """The answers of a starter that nobody gave, sizes in the reader's units."""
    own = _pairs(shared().defaults) | _pairs(starter.defaults)
    named = own | _texts({"job": starter.title})
    return {key: (word, _in_units(key, node, units)) for key, (word, node) in named.items()}


def asked(starter: Starter) -> tuple[str, ...]:
    """The questions of a starter, in order."""
    return (*ALWAYS_ASKED, *starter.asks, *shared().asks)


def _error(content: bytes | None, report: Report) -> BadFile | BadInput:
    if content is not None:
        return BadFile(report.problems)
    return BadInput("; ".join(dict.fromkeys(p.message for p in report.problems)))


def _tree(content: bytes | None, report: Report) -> Block:
    if content is None:
        return Block((), TOP)
    root = tree(content, report)
    if isinstance(root, Text) and root.empty:
        return Block((), TOP)
    if not isinstance(root, Block):
        report.add(root.mark, f"answers are a block of keys such as {ANSWERS.like}")
        raise Unreadable
    return root


def _pairs(block: Block) -> dict[str, tuple[Text, Node]]:
    return {word.value: (word, node) for word, node in block.pairs}


def _texts(texts: Mapping[str, str]) -> dict[str, tuple[Text, Node]]:
    return {key: (Text(key, TOP), text_node(text)) for key, text in texts.items()}


def _answers(given: Given, supposed: Given, report: Report) -> Answers:
    """The answers, with what was not given filled in and everything wrong reported."""
    starter = _starter(given, report)
    units = given["units"][1] if "units" in given else Text("", TOP)
    known = defaults(starter, units.value if isinstance(units, Text) else "")
    _report_unasked(given, starter, report)
    whole = {**known, **supposed, **given}
    block = Block(tuple(whole.values()), TOP)
    answers = ANSWERS.read(block, Place("the answers", TOP), report)
    if not report.problems:
        _report_not_allowed(answers, starter, report)
        _report_too_high(answers, report)
    kept = {key: _written(node) for key, (_, node) in whole.items() if key in asked(starter)}
    return replace(answers, written=kept)


def _starter(given: Given, report: Report) -> Starter:
    if "what" not in given:
        report.add(TOP, f"the answers need 'what': one of {', '.join(starters())}")
        raise Unreadable
    word, node = given["what"]
    return starters()[
        cast(str, ANSWERS.keys["what"].reader.read(node, Place("'what'", word.mark), report))
    ]


def _report_unasked(given: Given, starter: Starter, report: Report) -> None:
    """An answer to a question that the starter doesn't ask is a mistake, or a wish unfulfilled."""
    for key, (word, _) in given.items():
        if key in ANSWERS.keys and key not in asked(starter):
            words = f"'{key}' says nothing for {starter.title.lower()}; it asks for "
            report.add(word.mark, words + ", ".join(starter.asks))


def _report_not_allowed(answers: Answers, starter: Starter, report: Report) -> None:
    for key, allowed in starter.allows.items():
        value = getattr(answers, key)
        if value not in allowed.words:
            words = " or ".join(allowed.words)
            report.add(
                answers.marks.get(key, TOP),
                f"'{key}' must be {words} for {starter.title.lower()}: {allowed.why}",
            )


def _report_too_high(answers: Answers, report: Report) -> None:
    most = Takeoff(answers).alcove.height
    if isinstance(answers.tile_to, float) and answers.tile_to > most:
        height = show_length(most, answers.units)
        report.add(
            answers.marks.get("tile_to", TOP),
            f"'tile_to' must be at most the height of the walls, {height}; or write ceiling",
        )


def _in_units(key: str, node: Node, units: str) -> Node:
    reader = ANSWERS.keys[key].reader
    if units != "metric" or not isinstance(node, Text) or not isinstance(reader, Size | TileSize):
        return node
    return Text(reader.shown(node.value, cast(Literal["metric"], units)), node.mark)


def _written(node: Node) -> str:
    """An answer as it stands in an answers file."""
    if isinstance(node, Items):
        return items(item.value for item in node.items if isinstance(item, Text))
    return scalar(node.value) if isinstance(node, Text) else ""
