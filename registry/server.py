"""How the web server process runs: read by `gunicorn --config`, by `start` as by whoever serves it behind another web server.

Browsers open connections ahead and leave them idle. A process without threads waits for such a connection and answers nobody else; one
with threads gives each connection a thread until its first byte arrives, and gunicorn has no setting for how long.
"""

from gunicorn.workers import gthread

gthread.DEFAULT_WORKER_DATA_TIMEOUT = 0.1  # seconds; an idle connection then waits without a thread, instead of 5 s with one

worker_class = "gthread"
workers = 2
threads = 4
keepalive = 20  # seconds until an idle connection is closed; it takes no thread
loglevel = "warning"
