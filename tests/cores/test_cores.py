"""What is done side by side finds what is found one after the other."""

import gc
import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from functools import partial
from multiprocessing import parent_process
from pathlib import Path

import pytest

from apoyando.cores import beside, helpers, side_by_side
from apoyando.model.errors import UsageError


def square(number: int) -> int:
    return number * number


def name_process(_: int = 0) -> int:
    return os.getpid()


def refuse() -> int:
    raise UsageError("no")


@pytest.fixture(params=[1, 2])
def _cores(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(helpers, "cpu_count", lambda: request.param)


@pytest.mark.usefixtures("_cores")
def test_the_answers_come_in_the_order_of_the_questions() -> None:
    assert list(side_by_side(square, [3, 1, 2])) == [9, 1, 4]
    assert [ask() for ask in [beside(partial(square, number)) for number in (3, 1, 2)]] == [9, 1, 4]


@pytest.mark.usefixtures("_cores")
def test_a_refusal_comes_when_the_answer_is_asked_for() -> None:
    ask = beside(refuse)
    with pytest.raises(UsageError, match="no"):
        ask()


def test_with_a_second_core_the_work_is_done_elsewhere_and_a_helper_asks_nobody(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(helpers, "cpu_count", lambda: 2)
    assert beside(name_process)() != os.getpid()
    assert os.getpid() not in side_by_side(name_process, [0, 1])
    assert beside(partial(_ask_beside, 0))() is True


def _ask_beside(_: int) -> bool:
    """In a helper: whether what it asks beside it is done by itself."""
    return beside(name_process)() == os.getpid()


def test_with_one_core_nothing_is_done_elsewhere(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(helpers, "cpu_count", lambda: 1)
    assert beside(name_process)() == os.getpid()
    assert list(side_by_side(name_process, [0, 1])) == [os.getpid()] * 2


def test_a_helper_looks_for_rings_of_objects_less_often(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(helpers, "cpu_count", lambda: 2)
    assert beside(gc.get_threshold)()[0] > gc.get_threshold()[0]


# What goes wrong with a helper.


@pytest.fixture
def _own_helpers(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Two cores, and helpers that nobody else has used or will use."""
    monkeypatch.setattr(helpers, "cpu_count", lambda: 2)
    helpers._keep_helpers.cache_clear()
    yield
    helpers._keep_helpers().shutdown()
    helpers._keep_helpers.cache_clear()


def fall_over(number: int = 7) -> int:
    """A helper that does this ends there and then, as one that the system kills."""
    if parent_process():
        os._exit(1)
    return number


@pytest.mark.usefixtures("_own_helpers")
def test_what_a_helper_does_not_live_to_answer_is_done_here() -> None:
    assert beside(fall_over)() == 7
    assert beside(name_process)() == os.getpid()


@pytest.mark.usefixtures("_own_helpers")
def test_so_is_what_is_left_of_many_questions() -> None:
    assert list(side_by_side(fall_over, [3, 1, 2])) == [3, 1, 2]
    assert list(side_by_side(name_process, [0, 1])) == [os.getpid()] * 2


@pytest.mark.skipif(os.name != "posix", reason="pipes that are inherited")
@pytest.mark.usefixtures("_own_helpers")
def test_a_helper_holds_no_pipe_of_the_process_that_asks_it() -> None:
    """Who reads to the end of a pipe would wait as long as the helper is kept."""
    reading, writing = os.pipe()
    beside(name_process)()
    os.close(writing)
    os.set_blocking(reading, False)
    try:
        assert os.read(reading, 1) == b""
    finally:
        os.close(reading)


UNGUARDED = """\
import os
from functools import partial
from apoyando.cores import beside, helpers, side_by_side
helpers.cpu_count = lambda: 2
print(beside(os.getpid)() != os.getpid(), *side_by_side(abs, [-1, 2]))
"""


def test_a_script_without_a_guard_has_helpers_that_do_not_ask_again(tmp_path: Path) -> None:
    """Python's own helpers load the script that asks, and without ``if __name__`` all in it would be done again."""
    script = tmp_path / "script.py"
    script.write_text(UNGUARDED)
    done = subprocess.run([sys.executable, script], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines() == ["True 1 2"]
    assert not done.stderr


OWN_WORK = """\
from apoyando.cores import beside, helpers, side_by_side
helpers.cpu_count = lambda: 2
class Own(int):
    def doubled(self):
        return 2 * self
def double(number):
    return 2 * number
if __name__ == "__main__":
    print(*side_by_side(double, [1, 2]), *side_by_side(str, [Own(3), Own(4)]), beside(Own(5).doubled)())
"""


def test_what_a_script_defines_itself_is_done_by_the_script(tmp_path: Path) -> None:
    script = tmp_path / "script.py"
    script.write_text(OWN_WORK)
    done = subprocess.run([sys.executable, script], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines() == ["2 4 3 4 10"]
    assert not done.stderr


KILLED = """\
import os, signal
from apoyando.cores import beside, helpers
if __name__ == "__main__":
    helpers.cpu_count = lambda: 2
    beside(os.getpid)()
    os.kill(os.getpid(), signal.SIGKILL)
"""


@pytest.mark.skipif(os.name != "posix", reason="processes that can be killed and looked for")
def test_a_helper_ends_with_a_program_that_is_killed(tmp_path: Path) -> None:
    """Else they would keep its output open, and whoever reads it would wait for more than a minute, and for ever."""
    script = tmp_path / "script.py"
    script.write_text(KILLED)
    done = subprocess.run([sys.executable, script], capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == -signal.SIGKILL
