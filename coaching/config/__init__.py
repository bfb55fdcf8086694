"""The composition root: settings, URLs, Celery, WSGI."""
