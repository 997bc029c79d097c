"""Workers, and the columns of every row that waits for one."""

from __future__ import annotations

from datetime import timedelta

from django.db import models
from django.db.models.functions import Now

__all__ = ["SILENT", "Queued", "Worker", "worker_gone", "worker_is_here", "worker_seen"]

SILENT = timedelta(seconds=30)  # a worker that was not seen for this long is taken for dead
_KEPT = timedelta(days=1)


class Worker(models.Model):
    """When a worker was last seen, by the clock of the database. Each start of a worker has a
    name of its own."""

    name = models.CharField(max_length=80, primary_key=True)
    seen_at = models.DateTimeField()

    def __str__(self) -> str:
        return self.name


class Queued(models.Model):
    """A row that waits for a worker. The model that takes these columns adds `house` and `state`.

    `owner` is the worker that holds the job, and `attempts` counts how often the job was taken.
    Together they name one holding of it, so that a worker that lost its job to another cannot write
    a late result over. `due_at` is the time the job was queued plus the time it is likely to take.
    It orders the jobs of a house: a short job goes before a long one, and none waits forever.
    """

    WAITING = "waiting"
    RUNNING = "running"
    DONE = "done"
    FAILED = "failed"

    owner = models.CharField(max_length=80, blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    due_at = models.DateTimeField(null=True)
    started_at = models.DateTimeField(null=True)
    ended_at = models.DateTimeField(null=True)

    class Meta:
        abstract = True


def worker_seen(name: str) -> None:
    """Note that a worker is alive, and forget workers not seen for a day."""
    Worker.objects.update_or_create(name=name, defaults={"seen_at": Now()})
    # Each start of a worker leaves a row here, and one that is killed cannot remove its own.
    old = Worker.objects.filter(seen_at__lt=Now() - _KEPT)
    if old.exists():
        old.delete()


def worker_gone(name: str) -> None:
    """Note that a worker has ended. Other workers take its jobs at once."""
    # A job is free where no live worker has the name of its owner, so nothing else has to be
    # written.
    Worker.objects.filter(name=name).delete()


def worker_is_here() -> bool:
    """Whether any worker was seen in the last half minute. Without one the first plan stays, and
    pages say so."""
    return Worker.objects.filter(seen_at__gte=Now() - SILENT).exists()
