"""A contact's text → an order."""

from gateway.orders.order_words import Dry, Note, Ok, Order, Over, Tanks, Unknown, Week, Words, Work, parse
from gateway.orders.reply_loops import heard, like_a_machine, may_answer

__all__ = [
    "Dry",
    "Note",
    "Ok",
    "Order",
    "Over",
    "Tanks",
    "Unknown",
    "Week",
    "Words",
    "Work",
    "heard",
    "like_a_machine",
    "may_answer",
    "parse",
]
