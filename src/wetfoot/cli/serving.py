"""The commands that open the pages: serve, and the passcodes that let other machines in."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

Folder = Annotated[Path, typer.Argument(help="The season's folder, with its season.toml.", show_default=False)]


def serve(
    folder: Folder,
    port: Annotated[int, typer.Option(min=1, max=65535, help="Port to listen on.")] = 8710,
    lan: Annotated[bool, typer.Option("--lan", help="Let phones and other machines in, with a passcode.")] = False,
    https: Annotated[bool, typer.Option("--https", help="Serve over https with a certificate made here.")] = False,
    browser: Annotated[bool, typer.Option(help="Open the pages in the browser.")] = True,
) -> None:
    """Open the pages of a season: on this machine, or with --lan for phones in the yard."""
    import webbrowser

    from wetfoot.web.serving import own_addresses
    from wetfoot.web.serving import serve as serve_pages

    scheme = "https" if https else "http"

    def told(line: str) -> None:
        typer.echo(line)

    if lan:
        for address in own_addresses():
            _print_qr(f"{scheme}://{address}:{port}/visit")
    if browser and not lan:
        webbrowser.open(f"{scheme}://localhost:{port}/", new=2)
    typer.echo("Press Ctrl-C to stop. Keep this window open while others record.")
    serve_pages(folder, port, lan, https, told)


def passcode(
    folder: Folder,
    role: Annotated[str, typer.Argument(help="look, record or plan: each may do what those before it may.")],
    clear: Annotated[bool, typer.Option("--clear", help="Take the role's passcode away.")] = False,
) -> None:
    """Set the passcode with which phones and other machines are let in."""
    from wetfoot.errors import refuse
    from wetfoot.plan.file import plan_path
    from wetfoot.web.access import ROLES, open_access

    known = next((each for each in ROLES if each == role), None)
    if known is None:
        raise refuse("role", f"{role!r} is not a role", ", ".join(ROLES), "choose one")
    access = open_access(plan_path(folder).parent)
    if clear:
        access.clear(known)
        typer.echo(f"{role} has no passcode any more; all sessions ended.")
        return
    access.set_passcode(known, typer.prompt("Passcode", hide_input=True, confirmation_prompt=True))
    typer.echo(f"The passcode for {role} is set; all sessions ended.")


def _print_qr(address: str) -> None:
    import segno

    typer.echo(f"Scan this with a phone on the same network, or type {address}")
    segno.make(address, micro=False).terminal(compact=True)
