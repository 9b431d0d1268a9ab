"""Serving: a listening socket, an up-to-date database, waitress, and a clean end."""

from __future__ import annotations

import errno
import gc
import os
import signal
import socket
import threading
import webbrowser
from collections.abc import Callable
from types import FrameType
from typing import Final, NoReturn

from cards.messages import RefusalError, refusal
from drill import clock
from drill.config import IMPORT_BYTES, THREADS, Config
from drill.store import Store, prepare
from drill.words import gettext as _

_EVERYWHERE: Final = ("0.0.0.0", "::")


class ServeError(RefusalError):
    """The service cannot start. The message says why and what to do."""


def serve(config: Config, say: Callable[[str], object], open_page: bool = False) -> None:
    """Serve until Ctrl-C or SIGTERM.

    The socket is opened first, so that a database in use by another running service is not touched. Raises
    ServeError, StoreError.
    """
    signal.signal(signal.SIGTERM, _interrupt)
    try:
        with _listen(config) as listening:
            copy = prepare(config.url, clock.now())
            if copy:
                _rebuild(config)
                say(_("The data was moved up to this version; a copy from before is {copy}").format(copy=copy))
            _announce(config, listening, say)
            if open_page:
                webbrowser.open(_address("127.0.0.1" if config.host in _EVERYWHERE else config.host, listening))
            _run(config, listening)
    except KeyboardInterrupt:
        pass
    say(_("Ended."))


def _run(config: Config, listening: socket.socket) -> None:
    import waitress

    from drill.app import create_app
    from drill.jobs import ticking

    app = create_app(config)
    server = waitress.create_server(
        app,
        sockets=[listening],
        threads=THREADS,
        ident=None,
        # The app itself refuses a body that is too large, with a sentence. This only limits what the server reads.
        max_request_body_size=2 * IMPORT_BYTES,
        clear_untrusted_proxy_headers=True,
    )
    # This searches for the voicings of the cards now, so that the first session need not wait for it.
    service = app.extensions["drill"]
    threading.Thread(target=_warm_up, args=(service.store, service.player_id), daemon=True).start()
    with ticking(service.store):
        server.run()  # Returns on KeyboardInterrupt, when the requests under way are done.


def _rebuild(config: Config) -> None:
    """Compute memory again, as this version does it."""
    from drill.learning.learn import rebuild

    store = Store(config.url)
    rebuild(store)
    store.close()


def _warm_up(store: Store, player_id: int) -> None:
    """Search for the voicings of the first cards and of those that the player has met. Then exempt all objects
    of this lasting cache from garbage collection."""
    from drill.planning.repertoire import warm_up
    from drill.progress.key_map import View, key_map

    warm_up()
    key_map(store, player_id, View(), clock.now())
    gc.freeze()


def _interrupt(number: int, frame: FrameType | None) -> NoReturn:
    raise KeyboardInterrupt


def _listen(config: Config) -> socket.socket:
    try:
        family, kind, _protocol, _name, address = socket.getaddrinfo(
            config.host, config.port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE
        )[0]
        listening = socket.socket(family, kind)
        if os.name == "posix":  # On other systems this option would let two services share the port.
            listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind(address)
        listening.listen(128)
    except socket.gaierror as error:
        raise ServeError(
            "no address {host}: listen on 127.0.0.1, or on 0.0.0.0 for a phone", host=config.host
        ) from error
    except OSError as error:
        raise _cannot_listen(config, error) from error
    return listening


def _cannot_listen(config: Config, error: OSError) -> ServeError:
    mend = refusal("choose another one with --port or DRILL_PORT")
    if error.errno == errno.EADDRINUSE:
        return ServeError(
            "port {port} is taken, perhaps by a drill that is running already: open it, or {mend}",
            port=config.port,
            mend=mend,
        )
    if error.errno == errno.EACCES:
        return ServeError("port {port} is not allowed for you: {mend}", port=config.port, mend=mend)
    return ServeError(
        "{host} port {port} cannot be listened on ({reason})",
        host=config.host,
        port=config.port,
        reason=error.strerror,
    )


def _announce(config: Config, listening: socket.socket, say: Callable[[str], object]) -> None:
    if config.local:
        address = _address(config.host, listening)
        say(_("Anchor Drill is on {address} (Ctrl-C ends it)").format(address=address))
        return
    address = _address(config.host if config.host not in _EVERYWHERE else _network_address(), listening)
    say(_("Anchor Drill is on {address} for every device in this network (Ctrl-C ends it)").format(address=address))
    say(_("Warning: there is no sign-in yet. Whoever can reach this address sees and changes your drill."))


def _address(host: str, listening: socket.socket) -> str:
    port = listening.getsockname()[1]
    return f"http://[{host}]:{port}/" if ":" in host else f"http://{host}:{port}/"


def _network_address() -> str:
    """Return this machine's address as other devices in its network see it."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # This chooses the outgoing interface. It sends nothing.
        except OSError:
            return "127.0.0.1"
        return str(probe.getsockname()[0])
