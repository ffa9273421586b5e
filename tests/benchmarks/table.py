"""The figures of many cases told in a table of at most 80 columns, a column for each size."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from statistics import median

from tests.benchmarks.case import Case, Finish, Visits

LABEL, COLUMN, COLUMNS = 38, 14, 3

Row = tuple[str, Callable[[Sequence[Case]], str]]


def _seconds(of: Callable[[Case], float]) -> Callable[[Sequence[Case]], str]:
    """The median, and the worst beside it."""

    def tell(planned: Sequence[Case]) -> str:
        figures = [of(case) for case in planned]
        return f"{_short(median(figures))} ({_short(max(figures))})"

    return tell


def _short(seconds: float) -> str:
    return f"{seconds:.2f}" if seconds < 10 else f"{seconds:.1f}"


def _share(holds: Callable[[Case], bool]) -> Callable[[Sequence[Case]], str]:
    return lambda planned: f"{sum(map(holds, planned))} of {len(planned)}"


def _middle(of: Callable[[Case], float], form: str = "g") -> Callable[[Sequence[Case]], str]:
    return lambda planned: format(median(of(case) for case in planned), form)


def _stage(*names: str) -> Callable[[Case], float]:
    return lambda case: sum(case.seconds.get(name, 0.0) for name in names)


def _proven_under(limit: float, *stages: str) -> Callable[[Case], bool]:
    return lambda case: case.proven and _stage(*stages)(case) < limit


def _visits(of: Callable[[Visits], int]) -> Callable[[Sequence[Case]], str]:
    return lambda planned: f"{median(of(case.visits) for case in planned if case.visits):g}"


def _gaps(of: Callable[[Finish], float]) -> Callable[[Sequence[Case]], str]:
    def tell(planned: Sequence[Case]) -> str:
        gaps = [of(case.finish) for case in planned if case.finish and not case.proven]
        return f"{median(gaps):.1f} ({max(gaps):.1f})" if gaps else "-"

    return tell


def _imports(planned: Sequence[Case]) -> str:
    loaded = [case.seconds["import of CP-SAT"] for case in planned if case.cp_sat_loaded]
    return f"{_short(median(loaded))} ({_short(max(loaded))})" if loaded else "-"


def ratio(case: Case) -> float:
    """Build and solve to the earliest finish, against the same of the bare model."""
    return _stage("build", "finish")(case) / case.bare_seconds


ROWS: tuple[Row, ...] = (
    ("import of planning [s]", _seconds(_stage("import"))),
    ("CP-SAT loaded", _share(lambda case: case.cp_sat_loaded)),
    ("import of CP-SAT, where loaded [s]", _imports),
    ("build: hours, air, waits [s]", _seconds(_stage("build"))),
    ("solve to the earliest finish [s]", _seconds(_stage("finish"))),
    ("solve the rest: visits, all early [s]", _seconds(_stage("rest"))),
    ("reasons and floats [s]", _seconds(_stage("tell"))),
    ("plan in all, without imports [s]", _seconds(lambda case: case.total)),
    ("peak memory [MB]", _middle(lambda case: case.memory_mb, ".0f")),
    ("finish proven", _share(lambda case: case.proven)),
    ("  in under 1 s of solving for it", _share(_proven_under(1, "finish"))),
    ("  in under 2 s of solving for it", _share(_proven_under(2, "finish"))),
    ("  in under 1 s, solving the rest too", _share(_proven_under(1, "finish", "rest"))),
    ("  in under 2 s, solving the rest too", _share(_proven_under(2, "finish", "rest"))),
    ("gap where not proven [% of elapsed]", _gaps(lambda gap: 100 * gap.gap / gap.elapsed)),
    ("gap where not proven [working days]", _gaps(lambda gap: gap.working_days)),
    ("visits, as early as can be", _visits(lambda visits: visits.before)),
    ("visits, in the plan", _visits(lambda visits: visits.after)),
    ("visits, bound", _visits(lambda visits: visits.bound)),
    ("bare model, built and solved [s]", _seconds(lambda case: case.bare_seconds)),
    ("bare model proven", _share(lambda case: case.bare_proven)),
    ("build and solve to finish, ours / bare", _middle(ratio, ".1f")),
)


def table(cases: Sequence[Case]) -> Iterator[str]:
    """Medians by size, the worst in brackets where one is; jobs without a plan are left out."""
    sizes = sorted({case.size for case in cases})
    for first in range(0, len(sizes), COLUMNS):
        yield from _block([[c for c in cases if c.size == s] for s in sizes[first:][:COLUMNS]])
        yield ""


def _block(columns: Sequence[Sequence[Case]]) -> Iterator[str]:
    yield _line("median (worst)", (f"{cases[0].size} tasks" for cases in columns))
    planned = [[case for case in cases if case.finish] for cases in columns]
    shares = (f"{len(p)} of {len(cases)}" for p, cases in zip(planned, columns, strict=True))
    yield _line("jobs with a plan, of those generated", shares)
    for label, tell in ROWS:
        yield _line(label, (tell(cases) if cases else "-" for cases in planned))


def _line(label: str, cells: Iterable[str]) -> str:
    return f"{label:<{LABEL}}" + "".join(f"{cell:>{COLUMN}}" for cell in cells)


def remarks(cases: Sequence[Case]) -> Iterator[str]:
    """The cases that need a word: without a plan, not proven, found wrong by the verifier."""
    for case in cases:
        name = f"{case.size} tasks, seed {case.seed}"
        if case.no_plan is not None:
            yield _cut(f"{name}: {case.no_plan}")
        if case.finish is not None and not case.proven:
            yield _gap(name, case)
        if case.breaches:
            yield f"{name}: the verifier finds {case.breaches} breaches"
    plans = sum(case.finish is not None for case in cases)
    broken = sum(case.breaches > 0 for case in cases)
    yield f"the verifier finds {broken or 'nothing'} wrong in {plans} plans"


def _gap(name: str, case: Case) -> str:
    assert case.finish is not None  # only a plan has a gap
    gap, days = case.finish.gap, case.finish.working_days
    share = 100 * gap / case.finish.elapsed
    return f"{name}: gap {gap} min, {share:.1f} % of the elapsed time, {days} working days"


def _cut(line: str, width: int = 80) -> str:
    return line if len(line) <= width else line[: width - 3] + "..."
