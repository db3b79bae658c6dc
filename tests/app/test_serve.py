"""Where the server listens, and to whom it answers."""

from __future__ import annotations

import socket
from pathlib import Path

import pytest

from halfcell.app import serve
from halfcell.errors import HalfcellError


def test_small_answers_are_not_held_back() -> None:
    with serve._listen("127.0.0.1", 0) as listening:
        # asyncio turns the delay of small packets off only for sockets that name their protocol.
        assert listening.proto == socket.IPPROTO_TCP
        assert listening.getsockname()[0] == "127.0.0.1"


def test_a_port_in_use_is_said_in_words() -> None:
    with serve._listen("127.0.0.1", 0) as listening, pytest.raises(HalfcellError, match="Another --port"):
        serve._listen("127.0.0.1", listening.getsockname()[1])


def test_another_address_needs_to_be_meant(tmp_path: Path) -> None:
    with pytest.raises(HalfcellError, match="--anyone-with-the-key"):
        serve.serve(tmp_path, address="0.0.0.0", tell=lambda _: None)


def test_the_names_it_answers_to() -> None:
    assert serve.hosts("127.0.0.1", 8765) == {"127.0.0.1:8765", "localhost:8765", "[::1]:8765"}
    assert serve.hosts("192.0.2.7", 8765) == {"192.0.2.7:8765"}
