"""What this machine has: processors, memory, and whether a process is still there. What systems lack is here alone."""

import os
from pathlib import Path

from narrate.hear.memory import available_bytes

PROCESS_BYTES = 900_000_000
"""What a process that hears with the base model takes at its most."""
GROUPS = Path("/sys/fs/cgroup")
"""Where Linux says what a container may use."""


def processors() -> int:
    """Return how many processors this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def free_bytes(groups: Path = GROUPS) -> int:
    """Return the bytes that can be taken: of the machine, and of the container where there is one."""
    return min(available_bytes(), _left_in_group(groups))


def workers_for(waiting: int, *, cores: int, free: int) -> int:
    """Return how many processes of one thread are to hear, at least one.

    >>> workers_for(40, cores=4, free=2_000_000_000)
    2
    """
    return max(1, min(waiting, cores, free // PROCESS_BYTES))


def is_alive(process: int) -> bool:
    """Whether a process is there; True also where the system does not tell without harm."""
    if os.name != "posix":
        return True
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except PermissionError:
        return True
    return not _is_zombie(process)


def memory_kills(source: Path = Path("/proc/vmstat")) -> int:
    """Return how often this machine has ended a process because memory ran out; 0 where it does not say."""
    try:
        lines = source.read_text("ascii").splitlines()
    except OSError:
        return 0
    return next((int(line.split()[1]) for line in lines if line.startswith("oom_kill ")), 0)


def _left_in_group(groups: Path) -> int:
    try:
        most, used = ((groups / name).read_text("ascii").strip() for name in ("memory.max", "memory.current"))
        # What the system keeps of files gives way.
        stat = dict(line.split() for line in (groups / "memory.stat").read_text("ascii").splitlines())
        return int(most) - int(used) + int(stat.get("inactive_file", 0))
    except (OSError, ValueError):
        return 1 << 62


def _is_zombie(process: int) -> bool:
    """Whether it has ended and only its parent has not asked yet."""
    try:
        stat = Path(f"/proc/{process}/stat").read_text("utf-8", errors="replace")
    except OSError:
        return False
    return stat.rpartition(")")[2].split()[:1] == ["Z"]
