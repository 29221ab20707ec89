"""The Celery application: carries outbox jobs when a broker is configured. The outbox table stays the truth."""

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")

app = Celery("airscrew_daybook")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
