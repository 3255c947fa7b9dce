"""Load a file over and over, each time killed, or out of disk, at another step; then load it again.

Started by the test beside it as a process of its own: steps are met through Python's audit hooks,
which can't be taken away again, and every attempt is a fork that ends without any cleaning up.
"""

import errno
import importlib.util
import json
import os
import shutil
import sys
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

from pipeline.errors import StoreError
from pipeline.intake import spatial_connection
from pipeline.store import check, ledger, open_store

KILLED, TOLD, DONE, WRONG = 9, 3, 0, 1
AT_ONCE = 2
NEED_ROOM = ("open", "copyfile", "fsync")  # a name is changed or taken away on a full disk, too
WRITING = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_APPEND


def step_of(event: str, arguments: tuple[Any, ...], store: Path) -> str:
    """Return the name of a writing step in the store, such as `open archive`; nothing for others."""
    paths = [str(a) for a in arguments[:2] if isinstance(a, str | os.PathLike)]
    inside = [Path(p).relative_to(store) for p in paths if Path(p).is_relative_to(store)]
    if not inside or event not in {"open", "os.rename", "os.remove", "shutil.copyfile"}:
        return ""
    if event == "open" and not arguments[2] & WRITING:
        return ""
    return f"{event.rpartition('.')[2]} {inside[-1].parts[0]}"


def break_at(wanted: str, store: Path, mode: str, seen: list[str]) -> None:
    """Have the first step of a name end the process, or find no room; each name is noted when first met."""

    def meet(step: str) -> None:
        if not step or step in seen:
            return
        seen.append(step)
        if step == wanted and mode == "kill":
            os._exit(KILLED)
        if step == wanted:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    def watch(event: str, arguments: tuple[Any, ...]) -> None:
        if event in {"open", "os.rename", "os.remove", "shutil.copyfile"}:
            meet(step_of(event, arguments, store))

    sys.addaudithook(watch)
    flush = os.fsync

    def fsync(handle: int) -> None:
        target = Path(f"/proc/self/fd/{handle}").readlink()
        meet(
            f"fsync {target.relative_to(store).parts[0]}" if target.parent != store.parent else "fsync store"
        )
        flush(handle)

    os.fsync = fsync


def in_child(work: Callable[[], int]) -> int:
    """Start work in a fork and return its process id."""
    child = os.fork()
    if child:
        return child
    code = WRONG
    try:
        code = work()
    finally:
        os._exit(code)


def ended(child: int) -> int:
    """Wait for a fork and return its code."""
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def attempt(store: Path, file: Path, wanted: str, mode: str, notes: Path) -> int:
    """Load a file and break at a step."""
    seen: list[str] = []
    break_at(wanted, store, mode, seen)
    try:
        open_store(store).load([file])
    except StoreError as error:
        return TOLD if error.fault.mend and "space" in error.fault.why.lower() else WRONG
    finally:
        if not wanted:
            notes.write_text(json.dumps(seen), encoding="utf-8")
    return DONE


def verify(store: Path, file: Path, before: str, after: str) -> int:
    """Compare the store with what it was and shall be, before the file is loaded again and after."""
    desk = conftest().Desk(store.parent, open_store(store))
    first = repr(desk.contents())
    desk.load(file)
    numbers = [entry["number"] for entry in ledger.entries(desk.store.ledger)]
    sound = first in (before, after) and repr(desk.contents()) == after
    return DONE if sound and numbers == sorted(set(numbers)) and check(desk.store) == [] else WRONG


@cache
def conftest() -> Any:
    """The desk of the tests beside this file."""
    spec = importlib.util.spec_from_file_location("desk", Path(__file__).with_name("conftest.py"))
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["desk"] = module
    spec.loader.exec_module(module)
    return module


def main(template: Path, file: Path, scratch: Path) -> None:
    """Print each step with how the attempt and the check after it ended, as JSON."""
    notes = scratch / "steps.json"

    def fresh(name: str) -> Path:
        shutil.copytree(template, scratch / name / "store")
        return scratch / name / "store"

    def look(store: Path, into: Path) -> int:
        into.write_text(repr(conftest().Desk(scratch, open_store(store)).contents()), encoding="utf-8")
        return DONE

    spatial_connection().close()  # the signature's check and the imports are the forks' heaviest work
    conftest()
    whole = fresh("whole")
    outcomes = [ended(in_child(lambda: look(whole, scratch / "before")))]
    outcomes.append(ended(in_child(lambda: attempt(whole, file, "", "none", notes))))
    outcomes.append(ended(in_child(lambda: look(whole, scratch / "after"))))
    assert outcomes == [DONE] * 3, outcomes
    before, after = ((scratch / n).read_text(encoding="utf-8") for n in ("before", "after"))
    steps = json.loads(notes.read_text())
    tasks = [("kill", step) for step in steps]
    tasks += [("full", step) for step in steps if step.startswith(NEED_ROOM)]

    def one(number: int, mode: str, step: str) -> int:
        store = fresh(str(number))
        tried = ended(in_child(lambda: attempt(store, file, step, mode, notes)))
        again = ended(in_child(lambda: verify(store, file, before, after)))
        (scratch / f"{number}.json").write_text(json.dumps([mode, step, tried, again]), encoding="utf-8")
        return DONE

    running: list[int] = []
    for number, (mode, step) in enumerate(tasks):
        running.append(in_child(lambda n=number, m=mode, s=step: one(n, m, s)))
        if len(running) == AT_ONCE:
            ended(running.pop(0))
    for child in running:
        ended(child)
    found = [json.loads((scratch / f"{n}.json").read_text()) for n in range(len(tasks))]
    print(json.dumps(found))


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:]))
