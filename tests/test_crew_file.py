"""People from a crew file: the same for every job that names it, with mistakes told where they are.

The form of the file is this project's own, so there is nothing outside it to check against.
"""

import pytest

from scheduler import jobfile
from scheduler.errors import BadFile
from scheduler.jobfile import CrewFile
from scheduler.model import Job, Weekly
from tests.support.planned import verified

JOB = """\
job: Kitchen
timezone: America/Toronto
start: 2027-01-08
people_from: crew.yaml
people:
  owner: {hours: always}
tasks:
  strip: {who: me, work: 2 h}
  look: {who: [owner, me], work: 1 h, after: [strip]}
"""
CREW = """\
people:
  me: {hours: sat 9:00-17:00, pace: 1.2}
  plumber: {hours: mon-fri 8:00-16:00, count: 2}
"""


def parsed(text: str = JOB, crew: str = CREW) -> Job:
    def beside(name: str) -> CrewFile:
        if name != "crew.yaml":
            raise FileNotFoundError(2, "No such file or directory", name)
        return CrewFile(crew.encode(), "houses/crew.yaml", "/houses/crew.yaml")

    return jobfile.parse(text.encode(), "houses/kitchen.yaml", beside)


def problems(text: str = JOB, crew: str = CREW) -> list[str]:
    with pytest.raises(BadFile) as refused:
        parsed(text, crew)
    return [str(problem) for problem in refused.value.problems]


def test_people_of_a_crew_file_are_the_jobs_own_and_know_where_they_are_from() -> None:
    job = parsed()
    assert [*job.people] == ["owner", "me", "plumber"]
    assert [person.crew for person in job.people.values()] == ["", *2 * ["/houses/crew.yaml"]]
    assert job.people["me"].hours == (Weekly(frozenset({5}), 540, 1020),)
    assert (job.people["me"].pace, job.people["plumber"].count) == (1.2, 2)
    assert verified(job).visits == 2


def test_a_crew_file_given_as_a_job_is_known_for_what_it_is() -> None:
    assert problems(text=CREW) == [
        "houses/kitchen.yaml:1:1: this is a crew file, the people of several jobs, and no job: give"
        " the job files that name it in 'people_from'"
    ]
    half_a_job = CREW + "job: Kitchen\n"
    assert any("the job needs 'tasks'" in each for each in problems(text=half_a_job))


def test_mistakes_in_either_file_name_that_file() -> None:
    bad = CREW.replace("9:00-17:00", "9:00").replace("count: 2", "cuont: 2")
    assert [told.partition(": ")[0] for told in problems(crew=bad)] == [
        "houses/crew.yaml:2:15", "houses/crew.yaml:3:40",
    ]  # fmt: skip
    assert problems(JOB.replace("who: me,", "who: mee,"))[0].startswith(
        "houses/kitchen.yaml:8:16: unknown person 'mee'; did you mean 'me'?"
    )


def test_a_crew_file_that_is_not_there_is_told_where_it_is_named() -> None:
    assert problems(JOB.replace("crew.yaml", "crw.yaml")) == [
        "houses/kitchen.yaml:4:14: the file 'crw.yaml' can't be read: No such file or directory",
    ]


def test_a_person_of_both_files_is_refused() -> None:
    assert problems(JOB.replace("owner:", "plumber:").replace("owner,", "plumber,")) == [
        "houses/kitchen.yaml:6:3: 'plumber' is in houses/crew.yaml already: give one of them"
        " another id",
    ]


@pytest.mark.parametrize(
    ("crew", "told"),
    [
        ("", "1:1: nothing in it: a crew file has people"),
        ("tasks: {}\n", "1:1: the crew file needs 'people': a block of people, each under an id"),
        ("- me\n", "1:1: the crew file must be a block of keys such as people"),
    ],
)
def test_what_is_no_crew_file_is_told(crew: str, told: str) -> None:
    assert problems(crew=crew)[0].startswith(f"houses/crew.yaml:{told}")


def test_a_job_from_a_pipe_has_no_file_beside_it() -> None:
    with pytest.raises(BadFile, match="4:14: 'people_from' needs a job file beside it"):
        jobfile.parse(JOB.encode(), "standard input")


@pytest.mark.parametrize("priority", ["0", "101", "high", "1.25"])
def test_a_priority_is_a_number_within_reason(priority: str) -> None:
    (told,) = problems(f"{JOB}priority: {priority}\n")
    assert "'priority' must be a number from 0.1 to 100" in told


def test_a_priority_is_one_where_nobody_says() -> None:
    assert parsed().priority == 1.0
    assert parsed(f"{JOB}priority: 2.5\n").priority == 2.5
