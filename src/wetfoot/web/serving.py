"""Start the server: on this machine alone, or with --lan for phones, with https if asked."""

from __future__ import annotations

import socket
import ssl
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import uvicorn

from wetfoot.errors import refuse
from wetfoot.plan.file import plan_path
from wetfoot.web.access import open_access
from wetfoot.web.app import create_app
from wetfoot.web.season import OpenSeason

CERTIFICATE_D = 825
KEY_FILE, CERTIFICATE_FILE, AUTHORITY_FILE = "https-key.pem", "https-certificate.pem", "https-authority.pem"


def serve(folder: Path, port: int, lan: bool, https: bool, told: Callable[[str], None]) -> None:
    """Serve a season's pages until stopped; in a folder without a plan they begin with the page that writes one.

    Args:
        folder: the season's folder.
        port: to listen on.
        lan: whether other machines may reach it, with a passcode.
        https: whether to serve over https, with a certificate made here.
        told: is called with each address under which the pages are, once they are.

    Raises:
        WetfootError: for what is no folder, on a port that is taken, and for --lan without a passcode.
    """
    where = plan_path(folder).parent
    if not plan_path(folder).is_file() and (where != folder or (where.exists() and not where.is_dir())):
        raise refuse(str(where), "there is no plan here", "a season's folder", f"make one with: wetfoot new {where}")
    access = open_access(where)
    if lan and not access.any_passcode:
        fix = f"run: wetfoot passcode {where} record"
        raise refuse("--lan", "no passcode was set yet, so anybody on the network could come in", "a passcode", fix)
    _check_free(port, lan)
    addresses = [address for address in own_addresses() if lan]
    app = create_app(OpenSeason(folder), access, lan=lan, secure=https)
    config = uvicorn.Config(app, host="0.0.0.0" if lan else "127.0.0.1", port=port, log_level="warning",
                            server_header=False)  # fmt: skip
    if https:
        where.mkdir(parents=True, exist_ok=True)
        certificate = make_certificate(where, ["localhost", "127.0.0.1", *addresses])
        config.ssl_certfile, config.ssl_keyfile = str(certificate), str(where / KEY_FILE)
    scheme = "https" if https else "http"

    def listening() -> None:
        for name in ("localhost", *addresses):
            told(f"{scheme}://{name}:{port}/")

    _Telling(config, listening).run()


class _Telling(uvicorn.Server):
    """A server that calls somebody once it listens."""

    def __init__(self, config: uvicorn.Config, listening: Callable[[], None]) -> None:
        super().__init__(config)
        self.listening = listening

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets)
        if self.started:
            self.listening()


def own_addresses() -> list[str]:
    """Return this machine's addresses on its networks; nothing is sent to find them."""
    found = []
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # a documentation address (RFC 5737): chooses a route, sends nothing
            found.append(probe.getsockname()[0])
        except OSError:
            pass
    return [address for address in found if not address.startswith("127.")]


def make_certificate(folder: Path, names: list[str]) -> Path:
    """Return a certificate for these names, made by an authority of this folder's own, kept until it runs out.

    Phones trust it only once the authority's file was installed on them; until then they warn, and rightly so.
    """
    import trustme

    path = folder / CERTIFICATE_FILE
    stamp = folder / (CERTIFICATE_FILE + ".names")
    fresh = path.is_file() and stamp.is_file() and stamp.read_text("utf-8").split() == sorted(names)
    if fresh and datetime.fromtimestamp(path.stat().st_mtime, UTC) > datetime.now(UTC) - timedelta(days=CERTIFICATE_D):
        return path
    authority = trustme.CA(organization_name="Wetfoot season", organization_unit_name="made on this machine")
    issued = authority.issue_cert(*names)
    key = folder / KEY_FILE
    key.touch(mode=0o600)
    key.chmod(0o600)
    issued.private_key_pem.write_to_path(str(key))
    issued.cert_chain_pems[0].write_to_path(str(path))
    authority.cert_pem.write_to_path(str(folder / AUTHORITY_FILE))
    stamp.write_text("\n".join(sorted(names)), "utf-8")
    ssl.create_default_context().load_verify_locations(str(folder / AUTHORITY_FILE))
    return path


def _check_free(port: int, lan: bool) -> None:
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind(("0.0.0.0" if lan else "127.0.0.1", port))
        except OSError as error:
            what = f"port {port} cannot be used ({error.strerror})"
            raise refuse("--port", what, "a free port, 1024 to 65535", f"try --port {port + 1}") from error
