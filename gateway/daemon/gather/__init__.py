"""The store and the house → what each part of the page shows. Nothing here draws, nothing here writes."""
