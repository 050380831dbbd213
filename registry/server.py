"""How the web server process runs: read by `gunicorn --config`, by `start` as by whoever serves it behind another web server.

Browsers open connections ahead and leave them idle. A process without threads waits for such a connection and answers nobody else; one
with threads gives each connection a thread until its first byte arrives, and gunicorn has no setting for how long. Nor has it one for
a phone that loses its signal in the middle of a request: that request would hold its thread for ever.
"""

import socket
import struct

from gunicorn.workers import gthread

gthread.DEFAULT_WORKER_DATA_TIMEOUT = 0.1  # seconds; an idle connection then waits without a thread, instead of 5 s with one

worker_class = "gthread"
workers = 2
threads = 4
keepalive = 20  # seconds until an idle connection is closed; it takes no thread
loglevel = "warning"
QUIET_S = 20  # seconds without a byte until a request that was begun is given up: common practice, no source


def when_ready(server):
    """Each connection takes over from its listener how long it waits for the other side. Called by gunicorn before it starts a process."""
    for listener in server.LISTENERS:
        for option in (socket.SO_RCVTIMEO, socket.SO_SNDTIMEO):
            listener.setsockopt(socket.SOL_SOCKET, option, struct.pack("ll", QUIET_S, 0))
