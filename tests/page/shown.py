"""A household and how what happened to it becomes the page's values."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from gateway.facts import Event
from gateway.page.charts import Chart
from gateway.page.whole_page import Page, page_values
from gateway.phrases import load_phrases, with_page_words
from gateway.storage import open_store

NOW = datetime(2026, 11, 25, 3, 0, tzinfo=UTC)
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
HOUSE_TANK = "house & <b>yard</b>"


def event(kind, at, tank=None, controller=None, text=None, input=None, **detail) -> Event:
    """An event that was known at once."""
    return Event(
        kind=kind,
        at=at,
        heard_at=at,
        known_at=at,
        tank=tank,
        controller=controller,
        input=input,
        text=text,
        detail=detail,
    )


def show(site, *events, more=lambda tx: None, **how) -> Page:
    """Events (and what else a test does in the transaction) → the page's values."""
    store = open_store(site.settings.store.url, site.settings.site.name)
    with store.write() as tx:
        for event in events:
            tx.keep_event(event)
        more(tx)
    with store.read() as reader:
        view = page_values(reader, replace(site, phrases=with_page_words(load_phrases("en"))), NOW, **how)
    store.close()
    return view


def chart(view, title, of=None) -> Chart:
    """The chart of that title (of one tank or controller)."""
    return next(
        chart
        for group in view.chart_groups
        for chart in group.charts
        if chart.title == title and of in (None, group.name)
    )


def lows(*days_ago, lasted=2 * HOUR, tank="spring"):
    """A low episode on each of these days before now."""
    for ago in days_ago:
        yield event("low", NOW - ago * DAY, tank=tank, controller="creek", input="1")
        yield event(
            "low-over",
            NOW - ago * DAY + lasted,
            tank=tank,
            controller="creek",
            input="1",
            lasted_s=lasted.total_seconds(),
        )


def marks(drawn, shape, tone=None):
    """(x, width, bottom, top) of the marks of one shape."""
    return [
        tuple(round(side, 3) for side in (mark.x, mark.width, mark.bottom, mark.top))
        for mark in drawn.marks
        if mark.shape == shape and tone in (None, mark.tone)
    ]
