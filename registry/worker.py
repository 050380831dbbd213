"""The worker of long work beside the server that `start` became: started again when it fails, ended when the server is gone.

Run as `python -m registry.worker` by the process that then becomes the server. Standard library only.
"""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

MANAGE = Path(__file__).resolve().parent.parent / "manage.py"
PAUSE = 5.0  # seconds before a worker that failed is started again
GRACE = 10.0  # seconds for the step that is under way


class _Stop(Exception):
    pass


def run_beside(command, *, pause=PAUSE, look_every=0.5):
    """Run a command again and again for as long as the parent process of this one is there."""
    server, begun = os.getppid(), None
    for name in (signal.SIGTERM, signal.SIGINT):
        signal.signal(name, _stop)
    try:
        while os.getppid() == server:
            begun = subprocess.Popen(command)
            while begun.poll() is None and os.getppid() == server:
                time.sleep(look_every)
            if os.getppid() == server:
                time.sleep(pause)
    except _Stop:
        pass
    finally:
        end(begun)


def _stop(signum, frame):
    raise _Stop


def end(begun):
    """Let a process end by itself, and end it if it does not."""
    for name in (signal.SIGTERM, signal.SIGINT):
        signal.signal(name, signal.SIG_IGN)
    if begun is None or begun.poll() is not None:
        return
    begun.terminate()
    try:
        begun.wait(GRACE)
    except subprocess.TimeoutExpired:
        begun.kill()
        begun.wait()


if __name__ == "__main__":
    run_beside([sys.executable, str(MANAGE), "worker"])
