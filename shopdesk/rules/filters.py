"""The backlog's filters as plain words: late, charged, stores, build, over 7."""

import re
from datetime import date, datetime
from typing import Protocol

_OVER = re.compile(r"over (\d{1,4})\b")
_MOVE = re.compile(r"\s*(.+?)'s move\b")


class Waits(Protocol):
    """An open job as the backlog lists it."""

    @property
    def number(self) -> int: ...
    @property
    def kind(self) -> str: ...
    @property
    def serial(self) -> str: ...
    @property
    def model(self) -> str: ...
    @property
    def customer(self) -> str: ...
    @property
    def gas_state(self) -> str: ...
    @property
    def road(self) -> str: ...
    @property
    def stage(self) -> str: ...
    @property
    def waiting_for(self) -> str: ...
    @property
    def waiting_on(self) -> str: ...
    @property
    def waiting_since(self) -> datetime: ...
    @property
    def promised_on(self) -> date: ...
    @property
    def assigned(self) -> str: ...


def fits(text: str, job: Waits, now: datetime) -> bool:
    """Whether every word of the text fits the job. "over 7": it has waited more than 7 days;
    "RT's move": nobody else's; "charged or unknown": either."""
    today = now.astimezone().date()
    return any(_fits(words, job, today) for words in text.casefold().split(" or "))


def _fits(words: str, job: Waits, today: date) -> bool:
    waited = (today - job.waiting_since.astimezone().date()).days
    over = _OVER.search(words)
    if over is not None and waited <= int(over[1]):
        return False
    words = _OVER.sub("", words)
    move = _MOVE.match(words)
    if move is not None and move[1] != (job.waiting_on or "nobody").casefold():
        return False
    has = _words(job, today)
    return all(any(each.startswith(word) for each in has) for word in _MOVE.sub("", words).split())


def _words(job: Waits, today: date) -> list[str]:
    said = (
        f"j-{job.number} {job.kind} {job.serial} {job.model} {job.customer} {job.gas_state} "
        f"{job.road} {job.stage} {job.waiting_for} {job.waiting_on} {job.assigned}"
    ).casefold()
    late = ["late"] if job.promised_on < today else []
    return [*re.findall(r"[^\s:;,]+", said), *late]
