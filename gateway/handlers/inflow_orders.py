"""`FLOWS`, `STOPPED`: somebody looked whether water runs into the tank that was asked about; the answer enters the balance."""

from gateway.facts import Event, Text
from gateway.facts.states.people import InflowSaid
from gateway.handlers.enqueue import reply_with
from gateway.handlers.event_followers import record_event
from gateway.handlers.late_orders import written_at
from gateway.handlers.moved_forecasts import reconsider_by_word
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.settings.people_tables import Contact
from gateway.status.event_wording import forecast_values
from gateway.status.forecast import asked_about, forecasts
from gateway.status.snapshot import take_snapshot


def keep_inflow(unit: UnitOfWork, contact: Contact, text: Text, *, runs: bool) -> Event | None:
    """Keeps it, and answers with the likely time that it leads to; where no tank is low there is nothing to answer."""
    snapshot = take_snapshot(unit.tx, unit.site, unit.now, numbers=False)
    asked = asked_about(unit.tx, unit.site, snapshot)
    if asked is None:
        reply_with(unit, contact, "inflow-none", {})
        return None
    tank, _ = asked
    unit.tx.set_state(InflowSaid(tank=tank.id, runs=runs, at=written_at(unit, text), by=contact.id))
    detail = {"who": contact.name, "said": text.text.strip()}
    event = record_event(
        unit, unit.event("note", detail, at=text.at, tank=tank.id, text=text.text, sender=contact.number)
    )
    values = {
        **forecast_values(unit.site, forecasts(unit.tx, unit.site, snapshot)[tank.id], unit.now),
        "tank": tank.name,
    }
    reconsider_by_word(unit, event, told_already=contact.id)
    reply_with(unit, contact, "flows" if runs else "stopped", values)
    return event
