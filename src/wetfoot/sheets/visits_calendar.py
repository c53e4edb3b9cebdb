"""The days of the season as an iCalendar file (RFC 5545): one all-day event for each visit and stage."""

from __future__ import annotations

from datetime import timedelta
from uuid import UUID, uuid5

from icalendar import Calendar, Event

from wetfoot import __version__
from wetfoot.answers.calendar import Entry
from wetfoot.answers.dossier import Dossier
from wetfoot.drawing.svg import clean
from wetfoot.plan.model import Plan
from wetfoot.sheets.press import INVENTED, midnight

EVENTS = UUID("6f0d8d5e-5a35-4d0c-9c3e-7f2b1d7f4a10")  # name space of our own, so that ids never meet another's


def visits_ics(dossier: Dossier) -> bytes:
    """Return the calendar; the same plan always gives the same bytes, and the same event the same id."""
    found = Calendar()
    found.add("prodid", f"-//Wetfoot//Season calendar {__version__}//EN")
    found.add("version", "2.0")
    for entry in dossier.calendar:
        found.add_component(_event(dossier.plan, entry))
    return bytes(found.to_ical())


def _event(plan: Plan, entry: Entry) -> Event:
    event = Event()
    event.add("uid", str(event_id(plan, entry)))
    event.add("dtstamp", midnight(plan.crop.planting))
    event.add("dtstart", entry.on)
    event.add("dtend", entry.on + timedelta(days=1))
    event.add("summary", clean(f"{entry.title}: {plan.title}"))
    event.add("description", clean(f"{entry.words} {INVENTED if plan.invented else ''}"))
    event.add("location", clean(plan.site.name))
    event.add("categories", ["Visit" if entry.visit else "Crop stage"])
    event.add("transp", "TRANSPARENT")  # it does not make the day busy
    return event


def event_id(plan: Plan, entry: Entry) -> UUID:
    """Return an event's id: the same whenever the same plan's calendar is made again."""
    return uuid5(EVENTS, "\n".join((plan.title, plan.site.name, entry.on.isoformat(), str(entry.visit), entry.title)))
