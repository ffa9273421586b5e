"""OR-Tools CP-SAT as it is used here: how it is set, and watched while it searches."""

from concurrent.futures import ThreadPoolExecutor, wait

from ortools.sat.python import cp_model

from scheduler.watch import Watch

_BLINK = 0.003  # seconds between two questions to a watch


def solver_of(effort: float) -> cp_model.CpSolver:
    """A solver that takes so much deterministic time, and finds the same on every run."""
    solver = cp_model.CpSolver()
    solver.parameters.catch_sigint_signal = False  # Ctrl-C is for whoever called for the search
    solver.parameters.num_workers = 1
    solver.parameters.max_deterministic_time = effort
    solver.parameters.cp_model_probing_level = 0
    solver.parameters.max_presolve_iterations = 1
    solver.parameters.linearization_level = 0
    # Slower, and nothing was proven with it that is not without:
    solver.parameters.use_precedences_in_disjunctive_constraint = False
    return solver


class Told(cp_model.CpSolverSolutionCallback):
    """Tells a watch of every finish that is found."""

    def __init__(self, watch: Watch) -> None:
        super().__init__()
        self.watch = watch

    def on_solution_callback(self) -> None:
        """Called by the solver."""
        self.watch.found(round(self.objective_value))


def watched(
    solver: cp_model.CpSolver, model: cp_model.CpModel, told: Told | None, watch: Watch
) -> cp_model.CpSolverStatus:
    """Solve in a thread of its own, so that the watch, and Ctrl-C, are heard meanwhile."""
    with ThreadPoolExecutor(1) as thread:
        running = thread.submit(solver.solve, model, told)
        try:
            while wait([running], _BLINK).not_done:
                if watch.enough():
                    break
        finally:
            while not running.done():  # also one that has hardly begun ends
                solver.stop_search()
                wait([running], _BLINK)
        return running.result()
