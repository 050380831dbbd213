"""How many requests a program may make: counted in the memory of each process, so that counting costs no write.

The processes of the server count apart: what one allows is allowed for certain, and at most that times their number.
"""

import threading
import time

REQUESTS_MOST = 60
WINDOW_S = 60
_NAMES_MOST = 10_000


class RequestRate:
    """At most so many requests of one name in a window of time. `clock` gives seconds."""

    def __init__(self, most=REQUESTS_MOST, window_s=WINDOW_S, clock=time.monotonic):
        self.most, self.window_s, self.clock = most, window_s, clock
        self._lock = threading.Lock()
        self._windows = {}  # name: (when its window began, requests in it)

    def wait_s(self, name):
        """0 when a request may go on, and it is counted; else the seconds until the next one may."""
        now = self.clock()
        with self._lock:
            began, count = self._windows.get(name, (now, 0))
            if now - began >= self.window_s:
                began, count = now, 0
            if count >= self.most:
                return max(1, round(began + self.window_s - now))
            if len(self._windows) >= _NAMES_MOST:
                self._windows = {key: window for key, window in self._windows.items() if now - window[0] < self.window_s}
            self._windows[name] = began, count + 1
        return 0
