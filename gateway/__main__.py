"""Arguments → a command. Exit codes: 0 done; 1 it found something wrong (named on standard error); 2 wrong usage."""

import importlib
import os
import sys
from argparse import Namespace
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, nullcontext

from gateway.commands.argument_parser import module_of, parse
from gateway.commands.standard_streams import discard_output, prepare_streams, refuse_bytes
from gateway.errors import ConfigurationWrong, GatewayError, UsageWrong

INTERRUPTED = 130
"""What a shell says of a program that ended by Ctrl-C: 128 and the signal's number."""


def main(argv: Sequence[str] | None = None) -> int:
    """Runs one command; its exit code."""
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")  # it would look through every installed package
    prepare_streams()
    arguments = parse(argv)
    try:
        return _run(arguments)
    except ConfigurationWrong as error:
        _print_problems(error)
        return 1
    except UsageWrong as error:
        print(f"tank-gateway {arguments.command}: {error.said}", file=sys.stderr)
        return 2
    except GatewayError as error:
        print(f"tank-gateway: {error.said}", file=sys.stderr)
        return 1
    except BrokenPipeError:
        discard_output()  # whoever read it has seen enough
        return 1
    except OSError as error:
        if arguments.command == "serve":
            raise  # systemd's journal should have the whole of it
        _print_os_error(error)
        return 1
    except KeyboardInterrupt:
        return INTERRUPTED


def _run(arguments: Namespace) -> int:
    # Only the command that was asked for is imported: `--help` takes 50 ms, all commands together a second.
    with _without_openssl() if arguments.command == "serve" else nullcontext():
        command = importlib.import_module(f"gateway.commands.{module_of(arguments.command)}")
    refuse_bytes(vars(arguments))
    code = int(command.run(arguments))
    sys.stdout.flush()  # a full disk is told here, where it can still be said, and not as the interpreter ends
    return code


@contextmanager
def _without_openssl() -> Iterator[None]:
    """What is imported meanwhile finds no OpenSSL.

    asyncio (which SQLAlchemy imports) and hashlib load it wherever it is, and do without where it is not: 4.6 MB less for a daemon
    that stays (measured). Whatever encrypts, MQTT under TLS, imports ssl when it begins, and has it.
    """
    hidden = {name for name in ("_ssl", "_hashlib") if name not in sys.modules}
    sys.modules.update(dict.fromkeys(hidden))  # type: ignore[arg-type]  # None: "there is no such module"
    try:
        yield
    finally:
        for name in hidden:
            del sys.modules[name]


def _print_problems(error: ConfigurationWrong) -> None:
    # Imported here: it needs pydantic, a fifth of a second that `--help` does without; whoever comes here has it already.
    from gateway.settings.problem_locator import problem_line

    for problem in error.problems:
        print(problem_line(problem), file=sys.stderr)


def _print_os_error(error: OSError) -> None:
    if error.filename is None:
        discard_output()  # most likely it is standard output itself that takes no more
    where = f"{error.filename}: " if error.filename is not None else ""
    sudo = "; try sudo" if isinstance(error, PermissionError) and os.geteuid() else ""
    print(f"tank-gateway: {where}{error.strerror or error}{sudo}", file=sys.stderr)


if __name__ == "__main__":
    sys.exit(main())
