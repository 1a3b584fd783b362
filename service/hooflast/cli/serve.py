"""Serve: the service on this machine, and an example call to paste."""

import dataclasses

import click
from rich.console import Console

from hooflast.cli.speaking import Speaking, speaking

EXAMPLE = (
    '{"horse":{"name":"Bramble"},"method":"tape","uses":["hacking"],'
    '"hooves":[{"limb":"LF","width":124,"length":127},{"limb":"RF","width":125,"length":127},'
    '{"limb":"LH","width":119,"length":125},{"limb":"RH","width":"4 11/16 in","length":"4 15/16 in"}]}'
)


@click.command("serve", help="cli.serve.help")
@click.option("--host", help="cli.serve.host")
@click.option("--port", type=click.IntRange(0, 65535), help="cli.serve.port")
@click.option("--workers", type=click.IntRange(1, 64), help="cli.serve.workers")
@speaking
def serve(speak: Speaking, /, **told: object) -> None:
    """Serve until stopped."""
    from hooflast.api.server import serve as run  # the other commands start without the web

    settings = dataclasses.replace(speak.settings, **{name: value for name, value in told.items() if value is not None})  # type: ignore[arg-type]
    console = Console(soft_wrap=True, highlight=False, markup=False)

    def announce(address: str) -> None:
        call = f"curl -s {address}/v1/matches -H 'Content-Type: application/json' -d '{EXAMPLE}'"
        console.print(speak.texts.say("cli.serve.listening", {"address": address}))
        console.print(speak.texts.say("cli.serve.example"), call, sep="\n", end="\n\n")
        console.print(speak.texts.say("cli.serve.stop"))

    run(settings, announce=announce)
