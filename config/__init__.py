"""Settings, addresses and process entries; Celery's app is loaded with Django so that tasks find it."""

from config.celery import app as celery_app

__all__ = ["celery_app"]
