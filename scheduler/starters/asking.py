"""Questions on a terminal, one after another; what asks and what tells is handed in.

Each question has an answer to take by pressing Enter. A wrong answer is told and asked for again.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import timedelta

from scheduler.clock import to_local
from scheduler.errors import BadInput
from scheduler.layout import NARROW
from scheduler.starters.answers import ANSWERS
from scheduler.starters.files import Starter, shared, starters
from scheduler.starters.read import asked, defaults, problem, read_answers
from scheduler.wording import wrapped
from scheduler.yamlform.tree import Items, Node, Text

Prompt = Callable[[str, str], str]
"""Asks a question with its usual answer (empty for none) and gives what was typed."""

_SATURDAY = 5
_LONGEST_NAME = 20  # columns
_STAND_IN = {"timezone": "Etc/UTC", "start": "2027-01-01"}  # until they are asked for


def ask(
    given: Mapping[str, str],
    supposed: Mapping[str, str],
    prompt: Prompt,
    say: Callable[[str], None],
    width: int = 80,
) -> dict[str, str]:
    """The answers, those given among them, to every question that matters.

    Args:
        given: answers that need not be asked for.
        supposed: usual answers that no starter knows, such as a time zone.
        prompt: asks.
        say: tells what is wrong with an answer.
        width: columns for the menu.
    """
    known = dict(given)
    if "what" not in known:
        say(menu(width))
        known["what"] = _answer("what", {}, next(iter(starters())), prompt, say)
    starter = starters()[known["what"]]
    for key in asked(starter):
        if key not in known and _matters(key, known, starter):
            usual = _usual(starter, known) | dict(supposed)
            known[key] = _answer(key, known, usual.get(key, ""), prompt, say)
    return known


def menu(width: int) -> str:
    """The starters, each with what it is, in at most ``width`` columns."""
    return "\n".join(line for name in starters() for line in _entry(name, width))


def _entry(name: str, width: int) -> list[str]:
    says = starters()[name].says
    if width < NARROW:
        return wrapped(f"{name}: {says}", width, "  ", "    ")
    indent = " " * (2 + _LONGEST_NAME)
    return wrapped(says, width, f"  {name:{_LONGEST_NAME}}", indent)


def options(pairs: Iterable[str]) -> dict[str, str]:
    """Answers given as ``key=text``.

    Raises:
        BadInput: one of them isn't.
    """
    split = [(pair, *pair.partition("=")) for pair in pairs]
    for pair, _, equals, _ in split:
        if not equals:
            raise BadInput(f"--set must be an answer such as 'width=5 ft' (found '{pair}')")
    return {key.strip(): text.strip() for _, key, _, text in split}


def suppose(now: int, zone: str) -> dict[str, str]:
    """What to take for time zone and start: the zone here, and the next Saturday morning.

    Args:
        now: the present moment [UTC minute].
        zone: the time zone here; empty if nobody knows.
    """
    today = to_local(now, zone or "UTC").date()
    ahead = (_SATURDAY - today.weekday()) % 7 or 7
    start = {"start": f"{today + timedelta(days=ahead)} 9:00"}
    return start | ({"timezone": zone} if zone and not problem("timezone", zone) else {})


def _matters(key: str, known: Mapping[str, str], starter: Starter) -> bool:
    """Whether a question could change anything, going by the answers so far."""
    if key in starter.allows and len(starter.allows[key].words) == 1:
        return False
    if key in shared().seldom:
        return False
    answers = {**_usual(starter, known), **known}
    conditions = {**shared().only_if, **starter.only_if}.get(key, {})
    return all(answers.get(name, "") in words for name, words in conditions.items())


def _usual(starter: Starter, known: Mapping[str, str]) -> dict[str, str]:
    """The usual answers, each on one line; several hours with commas."""
    usual = defaults(starter, known.get("units", ""))
    return {key: ", ".join(_texts(node)) for key, (_, node) in usual.items()}


def _texts(node: Node) -> Iterator[str]:
    nodes = node.items if isinstance(node, Items) else (node,)
    return (item.value for item in nodes if isinstance(item, Text))


def _answer(
    key: str, known: Mapping[str, str], usual: str, prompt: Prompt, say: Callable[[str], None]
) -> str:
    """An answer that can be read, and goes with the others."""
    while True:
        text = prompt(ANSWERS.keys[key].says, usual)
        wrong = _wrong(key, text, known)
        if not wrong:
            return text
        say(f"  {wrong}")


def _wrong(key: str, text: str, known: Mapping[str, str]) -> str:
    try:
        read_answers(None, "", {**known, key: text}, _STAND_IN)
    except BadInput as error:
        return str(error)
    return ""
