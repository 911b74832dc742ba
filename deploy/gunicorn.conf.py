"""How gunicorn serves Dosebook; started by `dosebook serve`."""

import os

bind = f"{os.environ.get('HOST', '127.0.0.1')}:{os.environ.get('PORT', '8080')}"
worker_class = "gthread"
threads = 8
# SQLite has one writer: several processes would queue on its file lock instead of on ours, which
# was measured to be slower at the tail and to fail under load.
_on_sqlite = (os.environ.get("DATABASE_URL") or "sqlite").startswith("sqlite")
workers = 1 if _on_sqlite else int(os.environ.get("WEB_CONCURRENCY", "4"))
# Numpy's matrices are small here. Several threads of its solver wait on one another by spinning,
# which on a busy machine made two seconds of the tenth of one that a simulation of heat takes.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
timeout = 60
graceful_timeout = 20
keepalive = 15
control_socket_disable = True
limit_request_line = 4094
limit_request_fields = 60
# Requests name records by id only, but a search carries what was typed: no query in the log.
accesslog = os.environ.get("DOSEBOOK_ACCESS_LOG") or None
access_log_format = '%(t)s "%(m)s %(U)s" %(s)s %(b)s %(M)sms'


def on_starting(server):
    """Import the program before the workers are forked.

    That costs two seconds of the processor, now once instead of once for each of them, and a worker
    that died is back at once. What each opens, its database first of all, it opens by itself when
    it makes the application. (So a new version needs a new start, not a HUP.)
    """
    # The benches serve other programs with these settings.
    if server.cfg.default_proc_name == "api.wsgi:application":
        import api.app  # noqa: F401
