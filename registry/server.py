"""How the web server process runs: read by `gunicorn --config`, by `start` as by whoever serves it behind another web server.

Browsers open connections ahead and leave them idle. A process without threads waits for such a connection and answers nobody else.
"""

worker_class = "gthread"
workers = 2
threads = 4
loglevel = "warning"
