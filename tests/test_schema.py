"""The JSON Schema of a job file: what an editor checks is what the parser takes."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema import Draft7Validator

from scheduler import catalogue, jobfile
from scheduler.errors import BadFile
from scheduler.jobfile.form import LabelEntry
from scheduler.model import STAGES
from scheduler.yamlform.fields import Schema

ROOT = Path(__file__).parent.parent
EVERY_KEY = ROOT / "tests" / "data" / "good" / "every-key.yaml"
GOOD = [EVERY_KEY, *sorted((ROOT / "examples").glob("*.yaml"))]
BAD = ROOT / "tests" / "data" / "bad"
SCHEMA = jobfile.schema()
EDITOR = Draft7Validator(SCHEMA)
NUMBERS = {r"[-+]?[0-9]+": int, r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?": float}


def quoted(node: yaml.Node) -> bool:
    return bool(getattr(node, "style", None))


def as_text(node: yaml.Node) -> Any:
    """The values of a file as text, as the parser sees them."""
    if isinstance(node, yaml.MappingNode):
        return {key.value: as_text(value) for key, value in node.value}
    if isinstance(node, yaml.SequenceNode):
        return [as_text(item) for item in node.value]
    return None if node.value == "" and not quoted(node) else node.value


def as_editor(node: yaml.Node) -> Any:
    """The values of a file as an editor types them: core schema of YAML 1.2.2, chapter 10.3.2."""
    if isinstance(node, yaml.MappingNode):
        return {key.value: as_editor(value) for key, value in node.value}
    if isinstance(node, yaml.SequenceNode):
        return [as_editor(item) for item in node.value]
    return node.value if quoted(node) else typed(node.value)


def typed(text: str) -> Any:
    if text in {"", "~", "null", "Null", "NULL"}:
        return None
    if text.lower() in {"true", "false"}:
        return text.lower() == "true"
    for pattern, number in NUMBERS.items():
        if re.fullmatch(pattern, text):
            return number(text)
    return text


def composed(text: str) -> yaml.Node:
    node = yaml.compose(text, Loader=yaml.BaseLoader)
    assert node is not None
    return node


def complaints(text: str) -> list[str]:
    """Where an editor would complain of a file."""
    return [error.json_path for error in EDITOR.iter_errors(as_editor(composed(text)))]


def test_the_schema_is_draft_7_and_says_so() -> None:
    Draft7Validator.check_schema(SCHEMA)
    assert SCHEMA["$schema"] == "http://json-schema.org/draft-07/schema#"


def test_the_schema_is_plain_data_and_the_same_each_time() -> None:
    assert jobfile.schema() == SCHEMA
    assert yaml.safe_load(yaml.safe_dump(SCHEMA)) == SCHEMA


@pytest.mark.parametrize("path", GOOD, ids=lambda path: path.stem)
@pytest.mark.parametrize("typing", [as_text, as_editor])
def test_an_editor_takes_the_files_that_the_parser_takes(path: Path, typing: Any) -> None:
    text = path.read_text(encoding="utf-8")
    assert jobfile.parse(text.encode(), path.name).tasks
    assert [str(error) for error in EDITOR.iter_errors(typing(composed(text)))] == []


def objects(schema: Schema) -> Iterator[Schema]:
    """Every object in a schema that has keys of its own."""
    if "properties" in schema:
        yield schema
    inner = [
        *schema.get("properties", {}).values(), *schema.get("anyOf", []),
        schema.get("items"), schema.get("additionalProperties"),
    ]  # fmt: skip
    for part in inner:
        if isinstance(part, dict):
            yield from objects(part)


def test_every_object_is_closed_and_every_key_of_it_is_explained() -> None:
    found = list(objects(SCHEMA))
    assert len(found) >= 8  # job, air twice, person, room, product, label, task, links
    for schema in found:
        assert schema["additionalProperties"] is False
        for key, value in schema["properties"].items():
            assert len(value["description"]) >= 6, key
            assert value["description"].endswith("."), key


def keys_of(schema: Schema) -> set[str]:
    return {key for part in objects(schema) for key in part["properties"]}


def keys_in(node: yaml.Node) -> set[str]:
    """Every key of a file, ids and all."""
    if isinstance(node, yaml.MappingNode):
        here = {key.value for key, _ in node.value}
        return here.union(*(keys_in(value) for _, value in node.value))
    items = node.value if isinstance(node, yaml.SequenceNode) else []
    return set[str]().union(*map(keys_in, items))


def test_the_good_file_has_every_key_of_the_schema() -> None:
    unused = keys_of(SCHEMA) - keys_in(composed(EVERY_KEY.read_text(encoding="utf-8")))
    assert unused == {"people_from"}  # it needs a second file: tests/test_crew_file.py


def keys_at(*path: str | int) -> list[str]:
    """The keys that the schema has at a place."""
    schema: Any = SCHEMA
    for step in path:
        schema = schema[step]
    return list(schema["properties"])


P, A = "properties", "additionalProperties"
PLACED_KEYS = [
    (place, key)
    for place, path in {
        "{}": (),
        "air: {{{}}}": (P, "air"),
        "people: {{me: {{{}}}}}": (P, "people", A),
        "rooms: {{shower: {{{}}}}}": (P, "rooms", A),
        "rooms: {{shower: {{air: {{{}}}}}}}": (P, "rooms", A, P, "air"),
        "products: {{p: {{{}}}}}": (P, "products", A),
        "products: {{p: {{class: grout, label: {{{}}}}}}}": (P, "products", A, P, "label"),
        "tasks: {{t: {{{}}}}}": (P, "tasks", A),
        "tasks: {{t: {{after: {{{}}}}}}}": (P, "tasks", A, P, "after", "anyOf", 0, "anyOf", 1),
    }.items()
    for key in keys_at(*path)
]


@pytest.mark.parametrize(("place", "key"), PLACED_KEYS)
def test_the_parser_reads_every_key_of_the_schema(place: str, key: str) -> None:
    content = place.format(f"{key}: [[x]]")  # good for no key
    content += "" if key == "job" else "\njob: x"  # people alone are a crew file
    with pytest.raises(BadFile) as caught:
        jobfile.parse(content.encode(), "job.yaml")
    told = [problem.message for problem in caught.value.problems]
    assert any(message.startswith(f"'{key}'") for message in told)
    assert not any(message.startswith("unknown key") for message in told)


def test_the_parser_knows_no_key_that_the_schema_does_not() -> None:
    with pytest.raises(BadFile, match="unknown key 'colour' in task 't'; known: ") as caught:
        jobfile.parse(b"tasks: {t: {work: 1 h, colour: red}}", "job.yaml")
    listed = str(caught.value).partition("known: ")[2].splitlines()[0].split(", ")
    assert listed == keys_at(P, "tasks", A)


def test_a_label_has_every_stage() -> None:
    keys = keys_at(P, "products", A, P, "label")
    assert [key for key in keys if key not in {"at", "thickness"}] == list(STAGES)
    assert LabelEntry().stages() == {}


def test_classes_stages_units_and_ends_are_listed_for_completion() -> None:
    products, tasks = SCHEMA[P]["products"][A][P], SCHEMA[P]["tasks"][A][P]
    assert products["class"]["enum"] == list(catalogue.classes())
    assert SCHEMA[P]["units"]["enum"] == ["metric", "imperial"]
    one_link = tasks["after"]["anyOf"][0]["anyOf"][1]
    assert one_link[P]["stage"]["enum"] == list(STAGES)
    assert one_link[P]["from"]["enum"] == ["start", "finish"]


HEAD = "job: x\ntimezone: America/Toronto\nstart: 2027-01-08\n"


def task(keys: str) -> str:
    return f"{HEAD}tasks: {{a: {{{keys}}}, b: {{work: 1 h}}}}\n"


@pytest.mark.parametrize(
    "text",
    [
        task("work: 0"), task("work: 1 h, name: 7"), task("work: 1 h, dusty: TRUE, hold: No"),
        task("work: ½ h"), task("work: P1DT2H"), task("work: 1 h, after: []"),
        task("work: 1 h, after: b"), task("work: 1 h, after: [b, {task: b}]"),
        task("work: 1 h, after: {task: b, wait: -PT2H, within: None}").replace("None", "NONE"),
        task("work: 1 h, after: {task: b, wait: 0, within: 0, from: start, to: finish}"),
        task("work: 1 h, not_before: 2027-1-9 5 pm"),
        HEAD.replace("x", "2027") + "people:\nrooms: {hall: }\ntasks: {7: {work: 1 h}}\n",
        HEAD + "air: {temperature: 20°C, humidity: 0, swing: 0}\ntasks: {a: {work: 1 h}}\n",
        HEAD + "people: {a: {hours: 24/7, count: 3}}\ntasks: {a: {work: 1 h}}\n",
        HEAD + "people: {a: {hours: mon 6 pm to 9 pm}}\ntasks: {Küche: {work: 1 h}}\n",
    ],
)  # fmt: skip
def test_an_editor_takes_unusual_spellings_too(text: str) -> None:
    assert jobfile.parse(text.encode(), "job.yaml").tasks
    assert complaints(text) == []


@pytest.mark.parametrize(
    "name",
    [
        "a-list", "a-word", "missing-keys", "unknown-top-keys", "job-is-a-list", "empty-values",
        "start-in-other-order", "start-in-words", "units-unknown", "units-and-more",
        "air-is-a-word", "air-without-units", "air-key-misspelt", "people-as-list",
        "person-without-hours", "person-key-misspelt", "hours-empty-list", "hours-without-times",
        "hours-with-one-time", "hours-is-a-block", "away-in-words", "count-zero", "count-half",
        "count-many", "id-with-space", "id-too-long", "room-air-misspelt", "product-class-unknown",
        "product-without-class", "label-not-a-time", "label-stage-misspelt", "label-air-wrong",
        "shorten-maybe", "thickness-without-unit", "tasks-empty", "tasks-as-list",
        "tasks-nothing", "task-is-a-time", "task-without-work", "task-key-misspelt",
        "task-id-reserved", "work-in-words", "work-without-unit", "work-negative",
        "work-is-a-list", "who-without-number", "split-perhaps", "after-nothing",
        "after-nested-list",
        "after-stage-unknown", "after-time-for-stage", "after-nested-link", "link-mixture",
        "link-without-task", "link-key-misspelt", "link-within-never", "link-ends-wrong",
        "link-wait-wrong", "many-things-at-once",
    ],
)  # fmt: skip
def test_an_editor_shows_most_mistakes_while_typing(name: str) -> None:
    assert complaints((BAD / f"{name}.yaml").read_text(encoding="utf-8"))
