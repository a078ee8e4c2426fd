"""Cards that are about to be cut off are told of: 30, 7 and 1 days before, and when it is past; once each."""

from gateway.facts.states.gateway_itself import CardTold
from gateway.handlers.event_followers import record_event
from gateway.handlers.unit_of_work import UnitOfWork
from gateway.status.cards import cards_until


def tell_of_cards(unit: UnitOfWork) -> None:
    """The calendar says when: once a day."""
    for until in cards_until(unit.tx, unit.site, unit.now):
        subject = f"{until.card.id}:{until.why}"
        told = unit.tx.state(CardTold, subject)
        if until.step is None:
            if told is not None:
                unit.tx.clear_state(CardTold, subject)
            continue
        on = until.on.isoformat()
        # an end that moved (it was renewed, or used) begins anew
        if told is not None and told.until == on and told.days <= until.step:
            continue
        unit.tx.set_state(CardTold(until=on, days=until.step), subject)
        detail = {"name": until.card.name, "card": until.card.id, "on": on, "days": until.days_left}
        record_event(unit, unit.event("card-expires" if until.why == "expires" else "card-use", detail))
