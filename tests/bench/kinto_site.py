"""Kinto as it is measured; run by a Python of its own, which has nothing of ours.

Its defaults, with storage and permissions on PostgreSQL; what is its own alone (admin pages,
accounts) is left out. ``python -m tests.bench.kinto_site`` makes its tables.
"""

import os

from kinto import main

SETTINGS = {
    "kinto.storage_backend": "kinto.core.storage.postgresql",
    "kinto.storage_url": os.environ["KINTO_DATABASE"],
    "kinto.permission_backend": "kinto.core.permission.postgresql",
    "kinto.permission_url": os.environ["KINTO_DATABASE"],
    "kinto.cache_backend": "kinto.core.cache.memory",
    "kinto.userid_hmac_secret": "bench",
    "kinto.http_scheme": "http",
    "multiauth.policies": "basicauth",
}

application = main({}, **SETTINGS)

if __name__ == "__main__":
    application.registry.storage.initialize_schema()
    application.registry.permission.initialize_schema()
