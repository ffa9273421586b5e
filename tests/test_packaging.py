"""What is shipped: built as for release, installed away from the checkout, and run there.

An editable install, in which the other tests usually run, finds files that a wheel may lack.
"""

import os
import subprocess
import sys
import sysconfig
import tarfile
import venv
import zipfile
from collections.abc import Sequence
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
CLASSES = sorted(path.stem for path in (ROOT / "data" / "classes").glob("*.yaml"))
DATA = sorted(
    path.relative_to(ROOT / "data").as_posix() for path in (ROOT / "data").rglob("*.yaml")
)


def run(
    command: Sequence[str | Path], folder: Path, **variables: str
) -> subprocess.CompletedProcess[str]:
    """A command in a folder, without what the environment says of Python."""
    kept = {key: value for key, value in os.environ.items() if not key.startswith("PYTHON")}
    return subprocess.run(
        [str(part) for part in command],
        cwd=folder,
        env=kept | variables,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )


def done(command: Sequence[str | Path], folder: Path, **variables: str) -> str:
    """What a command that must succeed says."""
    ended = run(command, folder, **variables)
    assert ended.returncode == 0, ended.stderr + ended.stdout
    return ended.stdout


@pytest.fixture(scope="module")
def dist(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the source archive, and the wheel that was built from it."""
    folder = tmp_path_factory.mktemp("dist")
    done([sys.executable, "-m", "build", "--no-isolation", "--outdir", folder, ROOT], folder)
    return folder


@pytest.fixture(scope="module")
def wheel(dist: Path) -> Path:
    (path,) = dist.glob("*.whl")
    return path


@pytest.fixture(scope="module")
def scripts(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the programs are of an environment that has the wheel, and borrows what it needs."""
    folder = tmp_path_factory.mktemp("elsewhere") / "venv"
    venv.create(folder, with_pip=False)
    programs = folder / ("Scripts" if os.name == "nt" else "bin")
    pip = [sys.executable, "-m", "pip", "--python", str(programs / "python")]
    done([*pip, "install", "--quiet", "--no-index", "--no-deps", str(wheel)], folder)
    site = done(
        [programs / "python", "-c", "import site; print(site.getsitepackages()[0])"], folder
    )
    (Path(site.strip()) / "borrowed.pth").write_text(sysconfig.get_path("purelib") + "\n")
    return programs


def test_the_source_archive_has_all_that_the_wheel_and_the_tests_need(dist: Path) -> None:
    (path,) = dist.glob("*.tar.gz")
    with tarfile.open(path) as archive:
        names = {name.partition("/")[2] for name in archive.getnames()}
    wanted = {"README.md", "DEVELOPERS.md", "pyproject.toml", "scheduler/cli.py"}
    wanted |= {f"data/{name}" for name in DATA}
    wanted |= {
        path.relative_to(ROOT).as_posix()
        for path in (ROOT / "examples").rglob("*")
        if path.is_file()
    }
    wanted |= {f"tests/{path.name}" for path in (ROOT / "tests").glob("*.py")}
    assert wanted - names == set()


def test_the_wheel_has_the_data_once_and_nothing_that_is_not_needed_to_plan(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        names = archive.namelist()
    assert sorted(n for n in names if n.startswith("scheduler/data/")) == [
        f"scheduler/data/{name}" for name in DATA
    ]
    tops = {name.partition("/")[0] for name in names}
    assert {top for top in tops if not top.endswith(".dist-info")} == {"scheduler"}


def test_the_wheel_lets_python_3_11_and_later_install_it(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        (name,) = (name for name in archive.namelist() if name.endswith(".dist-info/METADATA"))
        metadata = archive.read(name).decode()
    assert "\nRequires-Python: >=3.11\n" in metadata
    assert "\nName: thenwait\n" in metadata


def test_an_installed_wheel_runs_from_its_own_files(scripts: Path) -> None:
    place = done(
        [scripts / "python", "-c", "import scheduler; print(scheduler.__file__)"], Path("/")
    )
    assert Path(place.strip()).is_relative_to(scripts.parent)


def test_an_installed_wheel_plans_a_copy_of_the_example_from_the_root_folder(
    scripts: Path, tmp_path: Path
) -> None:
    job = tmp_path / "my shower.yaml"
    job.write_bytes((ROOT / "examples" / "larch-row.yaml").read_bytes())
    ended = run([scripts / "thenwait", "plan", job, "--check"], Path("/"))
    assert ended.returncode == 0, ended.stderr
    assert ended.stdout.startswith("Larch Row shower\n")
    assert "DAY BY DAY" in ended.stdout
    assert ended.stderr == "checked against every rule: nothing broken\n"


def test_an_installed_wheel_lists_every_class_of_the_catalogue(scripts: Path) -> None:
    listed = done([scripts / "thenwait", "products"], Path("/"))
    words = {line.partition(" ")[0] for line in listed.splitlines()}
    assert set(CLASSES) - words == set()


def test_a_zipped_wheel_finds_its_data(scripts: Path, wheel: Path) -> None:
    code = (
        "from scheduler.catalogue import classes; from scheduler import resources;"
        "print(type(resources.data()).__module__.partition('.')[0], *classes())"
    )
    said = done([scripts / "python", "-c", code], Path("/"), PYTHONPATH=str(wheel))
    assert said.split() == ["zipfile", *CLASSES]


def test_a_zipped_wheel_is_a_program_too(scripts: Path, wheel: Path) -> None:
    program = str(scripts / "python")
    said = done([program, "-m", "scheduler", "products", "grout"], Path("/"), PYTHONPATH=str(wheel))
    assert said.startswith("grout: cement grout")
