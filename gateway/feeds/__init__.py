"""What other programs of the household may read of the record: metrics, a calendar, MQTT. All of it stands on `status`."""
