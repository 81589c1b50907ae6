"""The console as a process: start, pipes, signals."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path

import pytest

from tests.shown.conftest import SAMPLES
from viewer.jit import compiler_is_off
from viewer.kernel_files import family_hash, kernel_files
from viewer.shown.console.progress import NOT_KEPT, prepare_first_run
from viewer.shown.console.stopping import STOPPED
from viewer.shown.first_run import FIRST_RUN, KernelCount, kernels_are_cached
from viewer.warm import warm_up

HOOK = SAMPLES / "coat_hook_pause.gcode"
COMMAND = [sys.executable, "-m", "viewer"]
ENVIRONMENT = {name: text for name, text in os.environ.items() if name not in ("DISPLAY", "WAYLAND_DISPLAY")}

pytestmark = pytest.mark.skipif(
    os.environ.get("NUMBA_DISABLE_JIT", "0") not in ("", "0"), reason="whole programs need the compiler"
)


@pytest.fixture(scope="module", autouse=True)
def _compiled() -> None:
    """Let every kernel be in the cache: signals and times are not about the compiler."""
    subprocess.run([*COMMAND, "figures", str(HOOK)], capture_output=True, check=True, env=ENVIRONMENT)


def test_help_waits_for_no_library() -> None:
    script = (
        "import json, sys\n"
        "from viewer.__main__ import main\n"
        "status = [main(['--help']), main(['figures', '--help']), main(['--version'])]\n"
        "heavy = {'numpy', 'numba', 'scipy', 'PySide6', 'pyqtgraph', 'rich', 'msgspec'}\n"
        "sys.stderr.write(json.dumps([status, sorted(heavy & set(sys.modules))]))\n"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert json.loads(done.stderr) == [[0, 0, 0], []]


def test_figures_wait_for_no_window() -> None:
    script = (
        "import sys\n"
        "from viewer.__main__ import main\n"
        f"assert main(['figures', {str(HOOK)!r}]) == 0\n"
        "sys.stderr.write(' '.join(sorted({'PySide6', 'pyqtgraph', 'rich'} & set(sys.modules))))\n"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stderr == ""


def test_standard_input() -> None:
    with HOOK.open("rb") as file:
        done = subprocess.run(
            [*COMMAND, "figures", "-"],
            stdin=file,
            capture_output=True,
            text=True,
            env=ENVIRONMENT,
            check=False,
        )
    assert done.returncode == 0 and done.stderr == ""
    assert "file " in done.stdout and done.stdout.startswith("- on Heron with PLA\n")


def test_a_reader_that_has_enough_is_no_error() -> None:
    process = subprocess.Popen(
        [*COMMAND, "figures", *([str(HOOK)] * 3)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env=ENVIRONMENT,
    )
    assert process.stdout is not None and process.stderr is not None
    process.stdout.close()
    err = process.stderr.read()
    process.stderr.close()
    assert process.wait(30) == 141
    assert err == b""


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no /dev/full")
def test_standard_output_is_full() -> None:
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            [*COMMAND, "figures", str(HOOK)],
            stdout=full,
            stderr=subprocess.PIPE,
            env=ENVIRONMENT,
            check=False,
        )
    assert done.returncode == 2
    assert done.stderr.count(b"\n") == 1 and b"No space left on device" in done.stderr


def test_a_terminal_that_knows_ascii_alone() -> None:
    environment = {**ENVIRONMENT, "PYTHONIOENCODING": "ascii"}
    done = subprocess.run([*COMMAND, "figures", str(HOOK)], capture_output=True, env=environment, check=False)
    assert done.returncode == 0 and b" cm3\n" in done.stdout and b"\\" not in done.stdout


def big_program(folder: Path) -> Path:
    """Write 60 MB: squares of 100 mm laid over and over, 0.2 mm higher every thousand."""
    square = b"G1 X110.5 Y10.5 E3.3\nG1 X110.5 Y110.5 E3.3\nG1 X10.5 Y110.5 E3.3\nG1 X10.5 Y10.5 E3.3\n"
    file = folder / "big.gcode"
    with file.open("wb") as out:
        out.write(b"G28\nG21\nG90\nM83\nM104 S210\nG1 F1800\n")
        for layer in range(1, 701):
            out.write(b"G1 Z%.1f\n" % (0.2 * layer) + square * 1000)
    return file


def said(stderr: bytes) -> list[str]:
    """Return the lines said, but for the word that kernels are compiled: their source may just have been edited."""
    return [line for line in stderr.decode().splitlines() if line != FIRST_RUN]


def wait_until_open(process: subprocess.Popen[bytes], file: Path) -> None:
    """Wait until the process has opened a file."""
    links = Path(f"/proc/{process.pid}/fd")
    for _ in range(4000):
        if process.poll() is not None:
            break
        with suppress(OSError):  # a descriptor that was closed meanwhile
            if any(link.readlink() == file for link in links.iterdir()):
                return
        time.sleep(0.005)
    pytest.fail("the program was never opened")


def processor_s(process: subprocess.Popen[bytes]) -> float:
    """Return the processor's time that a process that runs has taken, s (proc(5): fields 14 and 15 of stat)."""
    fields = Path(f"/proc/{process.pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


@pytest.mark.skipif(not Path("/proc/self/fd").exists(), reason="needs /proc to see that the file is open")
def test_ctrl_c_while_a_big_program_is_read(tmp_path: Path) -> None:
    file, out = big_program(tmp_path), tmp_path / "layers.csv"
    process = subprocess.Popen(
        [*COMMAND, "figures", str(file), "--layers-csv", str(out)], stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        env=ENVIRONMENT,
    )  # fmt: skip
    wait_until_open(process, file)
    before = sum(os.times()[2:4]) + processor_s(process)
    process.send_signal(signal.SIGINT)
    stdout, stderr = process.communicate(timeout=60)
    assert process.returncode == 130
    assert stdout == b"" and said(stderr) == [STOPPED]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["big.gcode"]
    assert (
        sum(os.times()[2:4]) - before < 1.0
    )  # the promise is 0.5 s; other work that shares the machine is not counted


def test_ctrl_c_while_nothing_comes_from_standard_input(tmp_path: Path) -> None:
    process = subprocess.Popen(
        [*COMMAND, "figures", "-"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        env={**ENVIRONMENT, "TMPDIR": str(tmp_path)},
    )  # fmt: skip
    for _ in range(12_000):
        if any(tmp_path.glob("beadline-*")):
            break
        time.sleep(0.005)
    assert any(tmp_path.glob("beadline-*")), "it never began to read"
    process.send_signal(signal.SIGINT)
    assert process.stderr is not None and process.stdin is not None and process.stdout is not None
    assert process.wait(30) == 130
    assert said(process.stderr.read()) == [STOPPED]
    for pipe in (process.stdin, process.stdout, process.stderr):
        pipe.close()
    assert not list(tmp_path.iterdir())


def test_work_that_does_not_listen_is_ended(tmp_path: Path) -> None:
    part = tmp_path / "half.part"
    script = (
        "import hashlib, pathlib\n"
        "from viewer.shown.console.stopping import interruptible\n"
        "from viewer.written import unfinished\n"
        f"part = pathlib.Path({str(part)!r}); part.write_text('half'); unfinished.add(part)\n"
        "import sys, threading\n"
        "def tell(main=threading.get_ident()):\n"
        "    while sys._current_frames()[main].f_lineno != MACHINE_CODE: pass\n"
        "    print('ready', flush=True)\n"
        "with interruptible() as stop:\n"
        "    threading.Thread(target=tell, daemon=True).start()\n"
        # much machine code without the interpreter's lock, as a kernel: no handler runs meanwhile
        "    hashlib.pbkdf2_hmac('sha256', b'a', b'b', 200_000_000)\n"
    )
    script = script.replace("MACHINE_CODE", str(script.count("\n")))  # its last line
    process = subprocess.Popen([sys.executable, "-c", script], stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    assert process.stdout is not None
    assert process.stdout.readline() == b"ready\n"
    process.send_signal(signal.SIGINT)
    _, stderr = process.communicate(timeout=30)  # the machine code would take longer
    assert process.returncode == 130 and stderr.startswith(b"Stopped")
    assert not part.exists()


def test_the_first_run_is_announced(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("NUMBA_DISABLE_JIT", raising=False)
    cached = iter((False, True))
    warmed: list[bool] = []
    monkeypatch.setattr("viewer.shown.console.progress.kernels_are_cached", lambda: next(cached))
    monkeypatch.setattr("viewer.warm.warm_up", lambda: warmed.append(True))
    prepare_first_run()
    assert warmed == [True]
    assert capsys.readouterr().err == f"{FIRST_RUN}\n"


@pytest.mark.skipif(compiler_is_off(), reason="the compiler is off")
def test_the_next_run_finds_all_compiled_and_says_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    """That nothing is left where the cache was empty at first, `pytest -n` sees as it begins (tests/conftest.py)."""
    warm_up()
    assert kernels_are_cached()
    prepare_first_run()
    assert capsys.readouterr().err == ""


def test_a_cache_that_cannot_be_written_is_told(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """ "Later starts are quick" would be untrue where nothing can be kept."""
    monkeypatch.setattr("viewer.shown.console.progress.kernels_are_cached", lambda: False)
    monkeypatch.setattr("viewer.warm.warm_up", lambda: None)
    prepare_first_run()
    assert capsys.readouterr().err == f"{FIRST_RUN}\n{NOT_KEPT}\n"


def test_kernels_are_counted_as_they_come_into_the_cache(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("NUMBA_CACHE_DIR", raising=False)
    family = tmp_path / "room" / "kernels"
    cache = family / "__pycache__"
    cache.mkdir(parents=True)
    for name in ("one", "two"):
        (family / f"{name}.py").write_text(f"\n@kernel\ndef {name}(): ...\n")
    (family / "constants.py").write_text("A = 1\n")
    count = KernelCount(tmp_path)
    assert (count.ready(), count.of) == (0, 2)
    index = cache / f"one.one-2.py{sys.version_info.major}{sys.version_info.minor}.nbi"
    index.write_bytes(b"of older code")
    assert count.ready() == 0
    index.write_bytes(b"index " + family_hash(family))
    assert count.ready() == 1


def test_the_readme_says_the_same_of_the_first_run() -> None:
    assert FIRST_RUN.rstrip(".") in (Path(__file__).parents[2] / "README.md").read_text("utf-8")


def test_every_file_that_compiles_is_a_kernel_file() -> None:
    """A kernel outside of a `kernels` folder would not be looked for, and its helpers not hashed."""
    package = Path(__file__).parents[2] / "viewer"
    compiled = {path for path in package.rglob("*.py") if "\n@kernel\n" in path.read_text("utf-8")}
    assert compiled - {package / "jit.py"} <= set(kernel_files())
    assert len(compiled) > 8


def test_cached_means_of_the_sources_as_they_are(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("NUMBA_CACHE_DIR", raising=False)
    family = tmp_path / "read" / "kernels"
    (family / "__pycache__").mkdir(parents=True)
    (family / "scan.py").write_text("one = 1\n\n@kernel\ndef scan(): ...\n")
    (family / "words.py").write_text("two = 2\n")
    name = f"scan.scan-7.py{sys.version_info.major}{sys.version_info.minor}.nbi"
    assert not kernels_are_cached(tmp_path)
    (family / "__pycache__" / name).write_bytes(b"head" + family_hash(family) + b"tail")
    assert kernels_are_cached(tmp_path)
    elsewhere = tmp_path / "cache"
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(elsewhere))
    assert not kernels_are_cached(tmp_path)
    (elsewhere / "kernels_0123").mkdir(parents=True)
    (elsewhere / "kernels_0123" / name).write_bytes(family_hash(family))
    assert kernels_are_cached(tmp_path)
    (family / "words.py").write_text("two = 3\n")  # a helper in another file of the family
    assert not kernels_are_cached(tmp_path)
