"""An executor over all cores whose processes start clean: they do not import the script that asked.

The pools of the standard library either copy this process, threads and all, or run the caller's script once more in
each process, which a script without `if __name__ == "__main__":` does not survive. Here each process runs this module
and is given pickled calls over its standard input.
"""

from __future__ import annotations

import os
import pickle
import signal
import struct
import subprocess
import sys
import threading
from collections.abc import Callable
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from typing import IO, Any, Final

from lidoff.studies.errors import StudyError

_SIZE: Final = struct.Struct("<Q")


def processors() -> int:
    """Processors that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


class Workers(Executor):
    """As many processes as there are processors, each started when it is first needed.

    A call must be one that can be pickled; so must what it gives or raises. Raises StudyError, through the future,
    where a process ends before its work is done.
    """

    def __init__(self, count: int | None = None) -> None:
        self._own = threading.local()
        self._lock = threading.Lock()
        self._started: list[subprocess.Popen[bytes]] = []
        self._closed = False
        self._threads = ThreadPoolExecutor(count or processors(), thread_name_prefix="lidoff-worker")

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        """The call, worked out in one of the processes."""
        return self._threads.submit(self._ask, pickle.dumps((fn, args, kwargs)))

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        """End the processes; with `cancel_futures` at once, else when all work is done."""
        if cancel_futures:
            with self._lock:
                self._closed = True
                for process in self._started:
                    process.kill()
        self._threads.shutdown(wait=wait, cancel_futures=cancel_futures)
        with self._lock:
            self._closed = True
            for process in self._started:
                _end(process)

    def _process(self) -> subprocess.Popen[bytes]:
        process: subprocess.Popen[bytes] | None = getattr(self._own, "process", None)
        if process is None:
            with self._lock:
                if self._closed:
                    raise StudyError("The work was stopped")
                process = self._own.process = _start()
                self._started.append(process)
        return process

    def _ask(self, call: bytes) -> Any:
        process = self._process()
        assert process.stdin is not None
        assert process.stdout is not None
        try:
            _write(process.stdin, call)
            answer = _read(process.stdout)
        except (OSError, EOFError) as error:
            raise StudyError("A worker process ended before its work was done; run it again") from error
        good, result = pickle.loads(answer)
        if not good:
            raise result
        return result


def _start() -> subprocess.Popen[bytes]:
    # The same code as here, wherever it was found; away from the terminal, so that an interrupt reaches only the asker.
    environ = {**os.environ, "PYTHONPATH": os.pathsep.join(path for path in sys.path if path)}
    return subprocess.Popen(
        [sys.executable, "-c", f"from {__name__} import serve; serve()"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        env=environ,
        start_new_session=True,
    )


def _end(process: subprocess.Popen[bytes]) -> None:
    for pipe in (process.stdin, process.stdout):
        if pipe is not None:
            pipe.close()
    process.wait()


def _write(pipe: IO[bytes], data: bytes) -> None:
    pipe.write(_SIZE.pack(len(data)) + data)
    pipe.flush()


def _read(pipe: IO[bytes]) -> bytes:
    head = pipe.read(_SIZE.size)
    if len(head) < _SIZE.size:
        raise EOFError
    (size,) = _SIZE.unpack(head)
    data = pipe.read(size)
    if len(data) < size:
        raise EOFError
    return data


def serve() -> None:
    """Answers calls from standard input until it is closed: what a worker process does."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    calls, answers = sys.stdin.buffer, sys.stdout.buffer
    sys.stdout = sys.stderr  # whatever prints must not get into the answers
    while True:
        try:
            function, words, named = pickle.loads(_read(calls))
        except EOFError:
            return
        try:
            answer = (True, function(*words, **named))
        except Exception as error:  # handed on to whoever asked
            answer = (False, error)
        try:
            data = pickle.dumps(answer)
        except Exception as error:  # what cannot travel: the asker is told that instead
            data = pickle.dumps((False, TypeError(f"{answer[1]!r:.200}: {error}")))
        _write(answers, data)
