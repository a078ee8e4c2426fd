"""The record as values → one self-contained HTML page with SVG charts. Stands on `status`; decides nothing."""

from gateway.page.house_book import make_house_book
from gateway.page.whole_page import is_house_book, is_page, make_page, write_page

__all__ = ["is_house_book", "is_page", "make_house_book", "make_page", "write_page"]
