"""The commands that open the pages: serve, and the passcodes that let other machines in."""

from __future__ import annotations

from typing import Annotated

import typer

from wetfoot.cli.options import Folder


def serve(
    folder: Folder,
    port: Annotated[int, typer.Option(min=1, max=65535, help="Port to listen on.")] = 8710,
    lan: Annotated[bool, typer.Option("--lan", help="Let phones and other machines in, with a passcode.")] = False,
    https: Annotated[bool, typer.Option("--https", help="Serve over https with a certificate made here.")] = False,
    browser: Annotated[bool, typer.Option(help="Open the pages in the browser.")] = True,
) -> None:
    """Open the pages of a season: on this machine, or with --lan for phones in the yard."""
    import threading
    import webbrowser

    from wetfoot.web.serving import serve as serve_pages

    here: list[str] = []

    def told(address: str) -> None:
        typer.echo(address)
        if not here:
            typer.echo("Press Ctrl-C to stop. Keep this window open while others record.")
            if browser and not lan:
                # a browser in a terminal ends only when it is left: the pages must not wait for it
                threading.Thread(target=webbrowser.open, args=(address, 2), daemon=True).start()
        else:
            _print_qr(f"{address}visit")
        here.append(address)

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
