"""What writes: an event enters by `record`, where a table says what follows it; texts, reports, orders and time lead there."""
