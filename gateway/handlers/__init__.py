"""What writes: an event enters by `event_followers`, where a table says what follows it; texts, reports, orders and time lead there."""
