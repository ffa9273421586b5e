"""Strategies for what may have happened to a random job: logs of any order, and air as measured."""

from dataclasses import replace

from hypothesis import strategies as st

from scheduler.history import as_it_stands
from scheduler.model import Air, Course, Event, EventKind, Job, Log, Plan, PlannedTask

SLIPS = (0, 0, 0, -60, -5, 10, 45, 120, 600, 2000)
"""How much later than planned something happens [min]."""


@st.composite
def under_way(draw: st.DrawFn, job: Job, plan: Plan) -> Job:
    """The job at some moment, with a log that follows its plan more or less, or not at all."""
    share = draw(st.sampled_from((0.05, 0.15, 0.3, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.05)))
    now = plan.start + int((plan.finish - plan.start) * share) + draw(st.sampled_from((0, 1, -30)))
    wild = draw(st.sampled_from((False, False, False, True)))
    events = [event for task in plan.tasks for event in draw(events_of(job, task, now, wild))]
    log = Log(tuple(sorted(events, key=lambda event: event.at)))
    return draw(measured(as_it_stands(job, log, now)))


@st.composite
def events_of(draw: st.DrawFn, job: Job, task: PlannedTask, now: int, wild: bool) -> list[Event]:
    """What was logged of a task by now, at about its planned times or at any."""
    start = task.start + draw(st.sampled_from(SLIPS))
    finish = max(start, task.finish + draw(st.sampled_from(SLIPS)))
    if wild:
        start = job.start + draw(st.integers(-500, 6000))
        finish = start + draw(st.integers(0, 2000))
    ends: tuple[EventKind, ...] = ("done",)
    if job.task[task.id].hold:
        ends = ("passed", "done", "failed")
    told = [Event(finish, draw(st.sampled_from(ends)), task.id)]
    if draw(st.sampled_from((True, True, True, False))):
        told.append(Event(start, "started", task.id))
    return [event for event in told if event.at <= now]


@st.composite
def measured(draw: st.DrawFn, job: Job) -> Job:
    """The job with a course of air in some of its rooms."""
    rooms = {
        key: replace(room, air=draw(aired(room.air, job.start))) for key, room in job.rooms.items()
    }
    return replace(job, air=draw(aired(job.air, job.start)), rooms=rooms)


@st.composite
def aired(draw: st.DrawFn, air: Air, start: int) -> Air:
    """Air with or without a course, frost and fog included."""
    gaps = draw(st.lists(st.sampled_from((7, 60, 240, 900, 3000)), max_size=7))
    minutes = [start - draw(st.sampled_from((0, 60, 3000)))]
    for gap in gaps:
        minutes.append(minutes[-1] + gap)
    if len(minutes) < 2:
        return air
    warm = tuple(draw(st.floats(2, 33).map(lambda t: round(t, 1))) for _ in minutes)
    damp = tuple(draw(st.sampled_from((0.3, 0.5, 0.6, 0.8, 0.9, 0.97, 0.99))) for _ in minutes)
    driest = draw(st.sampled_from((None, tuple(0.8 * share for share in damp))))
    return replace(air, course=Course(tuple(minutes), warm, damp, driest))
