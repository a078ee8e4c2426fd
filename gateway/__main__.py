"""Arguments → a command. Exit codes: 0 done; 1 it found something wrong (named on standard error); 2 wrong usage."""

import importlib
import os
import sys
from collections.abc import Sequence

from gateway.commands.streams import give_up_output, make_ready, words_only
from gateway.commands.usage import module_of, parser
from gateway.errors import ConfigurationWrong, GatewayError, UsageWrong


def main(argv: Sequence[str] | None = None) -> int:
    """Runs one command; its exit code."""
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")  # it would look through every installed package
    make_ready()
    arguments = parser().parse_args(argv)
    try:
        command = importlib.import_module(f"gateway.commands.{module_of(arguments.command)}")
        words_only(vars(arguments))
        code = int(command.run(arguments))
        sys.stdout.flush()
        return code
    except ConfigurationWrong as wrong:
        from gateway.settings.problems import problem_line

        for problem in wrong.problems:
            print(problem_line(problem), file=sys.stderr)
        return 1
    except UsageWrong as wrong:
        print(f"tank-gateway {arguments.command}: {wrong.said}", file=sys.stderr)
        return 2
    except GatewayError as wrong:
        print(f"tank-gateway: {wrong.said}", file=sys.stderr)
        return 1
    except BrokenPipeError:
        give_up_output()
        return 1
    except OSError as wrong:
        if arguments.command == "serve":
            raise
        if wrong.filename is None:
            give_up_output()
        where = f"{wrong.filename}: " if wrong.filename is not None else ""
        print(f"tank-gateway: {where}{wrong.strerror or wrong}", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        return 130


if __name__ == "__main__":
    sys.exit(main())
