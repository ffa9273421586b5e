"""Plans as JSON, version 1: the whole of one, the schema of all, and nothing beside it."""

import json
import re
from dataclasses import replace
from typing import Any

import jsonschema
import pytest

from scheduler.asjson import plan_json
from scheduler.model import Link, Plan, Reason, Task, TimeSplit, Wait
from tests.planfactory import HOUR, at, job_of, placed, plan_of, product, shower

TIME = {"type": "string", "pattern": r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d[+-]\d\d:\d\d$"}
MINUTES = {"type": "integer"}
NAME = {"type": "string"}
MAYBE = {"type": ["string", "null"]}


def closed(**properties: Any) -> dict[str, Any]:
    """An object with exactly these keys."""
    return {
        "type": "object",
        "properties": properties,
        "required": [*properties],
        "additionalProperties": False,
    }


def listed(items: dict[str, Any]) -> dict[str, Any]:
    return {"type": "array", "items": items}


SCHEMA = closed(
    version={"const": 1},
    job=NAME,
    timezone=NAME,
    start=TIME,
    finish=TIME,
    proven_earliest={"type": "boolean"},
    finish_bound=TIME,
    tasks=listed(
        closed(
            id=NAME,
            name=NAME,
            who=listed(NAME),
            room=MAYBE,
            start=TIME,
            finish=TIME,
            sessions=listed({"type": "array", "items": TIME, "minItems": 2, "maxItems": 2}),
            latest_start=TIME,
            latest_finish=TIME,
            float_minutes=MINUTES,
            free_float_minutes=MINUTES,
            logic_float_minutes=MINUTES,
            critical={"type": "boolean"},
            because=closed(kind=NAME, task=MAYBE, stage=MAYBE, text=NAME),
        )
    ),
    waits=listed(
        {
            **closed(
                task=NAME,
                product=MAYBE,
                stage=MAYBE,
                start=TIME,
                end=TIME,
                minutes=MINUTES,
                label_minutes=MINUTES,
                close_by={"anyOf": [TIME, {"type": "null"}]},
                **{"for": MAYBE},
            )
        }
    ),
    where_time_goes=closed(
        work=MINUTES,
        waiting=MINUTES,
        outside_hours=MINUTES,
        people_busy=MINUTES,
        room_closed=MINUTES,
        air=MINUTES,
        dates=MINUTES,
    ),
    warnings=listed(NAME),
)

TWO_COATS = """\
{
  "version": 1,
  "job": "Two coats",
  "timezone": "America/Toronto",
  "start": "2027-03-13T18:00:00-05:00",
  "finish": "2027-03-14T09:45:00-04:00",
  "proven_earliest": false,
  "finish_bound": "2027-03-14T09:15:00-04:00",
  "tasks": [
    {
      "id": "coat-1",
      "name": "First coat",
      "who": [
        "me"
      ],
      "room": "shower",
      "start": "2027-03-13T18:00:00-05:00",
      "finish": "2027-03-13T19:00:00-05:00",
      "sessions": [
        [
          "2027-03-13T18:00:00-05:00",
          "2027-03-13T19:00:00-05:00"
        ]
      ],
      "latest_start": "2027-03-13T19:30:00-05:00",
      "latest_finish": "2027-03-13T20:30:00-05:00",
      "float_minutes": 90,
      "free_float_minutes": 60,
      "logic_float_minutes": 120,
      "critical": false,
      "because": {
        "kind": "start",
        "task": null,
        "stage": null,
        "text": "the job starts"
      }
    },
    {
      "id": "coat-2",
      "name": "Second coat",
      "who": [],
      "room": null,
      "start": "2027-03-14T09:00:00-04:00",
      "finish": "2027-03-14T09:45:00-04:00",
      "sessions": [
        [
          "2027-03-14T09:00:00-04:00",
          "2027-03-14T09:45:00-04:00"
        ]
      ],
      "latest_start": "2027-03-14T09:00:00-04:00",
      "latest_finish": "2027-03-14T09:45:00-04:00",
      "float_minutes": 0,
      "free_float_minutes": 0,
      "logic_float_minutes": 0,
      "critical": true,
      "because": {
        "kind": "stage",
        "task": "coat-1",
        "stage": "recoat",
        "text": "'First coat' is ready to recoat"
      }
    }
  ],
  "waits": [
    {
      "task": "coat-1",
      "product": "membrane",
      "stage": "recoat",
      "for": "coat-2",
      "start": "2027-03-13T19:00:00-05:00",
      "end": "2027-03-14T09:00:00-04:00",
      "minutes": 780,
      "label_minutes": 120,
      "close_by": "2027-03-14T20:00:00-04:00"
    },
    {
      "task": "coat-1",
      "product": null,
      "stage": null,
      "for": null,
      "start": "2027-03-13T19:00:00-05:00",
      "end": "2027-03-13T19:30:00-05:00",
      "minutes": 30,
      "label_minutes": 30,
      "close_by": null
    }
  ],
  "where_time_goes": {
    "work": 1,
    "waiting": 2,
    "outside_hours": 3,
    "people_busy": 4,
    "room_closed": 5,
    "air": 6,
    "dates": 7
  },
  "warnings": [
    "18 °C and 60 % are assumed"
  ]
}"""


def two_coats() -> Plan:
    """Over the night in which the clocks go forward: 14 wall hours are 13 real ones."""
    first = Task("coat-1", "First coat", HOUR, ("me",), "shower", "membrane")
    second = Task("coat-2", "Second coat", 45, after=(Link("coat-1", "recoat", within=24 * HOUR),))
    start, morning = at("2027-03-13 18:00"), at("2027-03-14 09:00")
    job = job_of(
        [first, second],
        name="Two coats",
        start=start,
        products=[product("membrane", {"recoat": 2 * HOUR})],
    )
    coat_1 = replace(
        placed(first, (start, start + HOUR), because=Reason("start", "the job starts"), spare=90),
        free_float_minutes=60,
        logic_float_minutes=120,
    )
    why = Reason("stage", "'First coat' is ready to recoat", "coat-1", "recoat")
    coat_2 = placed(second, (morning, morning + 45), because=why)
    done = start + HOUR
    return plan_of(
        job,
        [coat_1, coat_2],
        waits=[
            Wait("coat-1", "membrane", "recoat", "coat-2", done, morning, 120, done + 24 * HOUR),
            Wait("coat-1", None, None, None, done, done + 30, 30),
        ],
        split=TimeSplit(1, 2, 3, 4, 5, 6, 7),
        gap=30,
        warnings=("18 °C and 60 % are assumed",),
    )


def test_a_plan_is_this_json_key_by_key_and_in_this_order() -> None:
    assert json.dumps(plan_json(two_coats()), indent=2, ensure_ascii=False) == TWO_COATS


@pytest.mark.parametrize("plan", [two_coats(), shower()[1]], ids=["two coats", "shower"])
def test_every_plan_meets_the_schema_of_version_1(plan: Plan) -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    jsonschema.validate(json.loads(json.dumps(plan_json(plan))), SCHEMA)


def test_how_many_of_somebody_is_told_where_they_are_several() -> None:
    task = Task("lift", "Lift the tub", 60, ("me", "helper"), several=(("helper", 2),))
    start = at("2027-01-08 17:00")
    job = job_of([task], start=start)
    told = json.loads(json.dumps(plan_json(plan_of(job, [placed(task, (start, start + 60))]))))
    assert told["tasks"][0].pop("several") == {"helper": 2}
    jsonschema.validate(told, SCHEMA)
    assert told["tasks"][0]["who"] == ["me", "helper"]


def test_an_empty_plan_meets_the_schema_too() -> None:
    job = job_of([], start=at("2027-01-08 17:00"))
    jsonschema.validate(plan_json(plan_of(job, [])), SCHEMA)


def test_a_milestone_has_no_sessions() -> None:
    task = Task("done", "Done", 0)
    job = job_of([task], start=at("2027-01-08 17:00"))
    values = plan_json(plan_of(job, [placed(task, at=job.start)]))
    assert isinstance(values["tasks"], list)
    assert values["tasks"][0]["sessions"] == []
    assert values["tasks"][0]["start"] == values["tasks"][0]["finish"]


def test_an_equal_plan_is_equal_json_byte_for_byte() -> None:
    assert json.dumps(plan_json(two_coats())) == json.dumps(plan_json(two_coats()))


@pytest.mark.parametrize("zone", ["Asia/Kathmandu", "UTC", "America/St_Johns"])
def test_times_carry_the_offset_of_the_jobs_zone(zone: str) -> None:
    plan = replace(two_coats(), timezone=zone)
    times = re.findall(r'"(\d{4}-\d\d-\d\dT[^"]*)"', json.dumps(plan_json(plan)))
    offsets = {time[19:] for time in times}
    # From the tz database, from memory: Nepal +05:45, Newfoundland -03:30 and -02:30 in summer.
    assert (
        offsets
        == {
            "Asia/Kathmandu": {"+05:45"},
            "UTC": {"+00:00"},
            "America/St_Johns": {"-03:30", "-02:30"},
        }[zone]
    )


def test_where_anything_is_logged_a_plan_tells_now_its_news_and_states() -> None:
    plan = shower()[1]
    plain, told = plan_json(plan), plan_json(plan, at("2027-01-09 12:00"), ("on plan: it stands",))
    assert "now" not in plain
    assert told["now"] == "2027-01-09T12:00:00-05:00"
    assert told["news"] == ["on plan: it stands"]
    tasks: Any = told["tasks"]
    assert [task.pop("state") for task in tasks] == [task.state for task in plan.tasks]
    assert {key: told[key] for key in plain} == plain
