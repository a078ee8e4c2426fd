"""`schema`: a JSON Schema of the configuration, so that editors complete and check the TOML; `--mqtt`: of what is published by MQTT."""

import argparse

from gateway.commands.terminal_output import print_json
from gateway.settings.json_schema import settings_schema


def run(arguments: argparse.Namespace) -> int:
    """Prints the schema."""
    if arguments.mqtt:
        from gateway.feeds.mqtt_schema import mqtt_schema  # for the few who write a program that listens

        print_json(mqtt_schema())
    else:
        print_json(settings_schema())
    return 0
