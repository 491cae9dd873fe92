"""How the page answers on the wire."""

from __future__ import annotations

import asyncio
import socket
from concurrent.futures import ThreadPoolExecutor

from optimiser.page.serve import LOOPBACK, bind


async def not_held_back() -> bool:
    """Whether what is sent over an accepted connection goes out without waiting for an acknowledgement."""
    found: asyncio.Future[bool] = asyncio.get_running_loop().create_future()

    async def take(_reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        taken = writer.get_extra_info("socket")
        found.set_result(bool(taken.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY)))
        writer.close()

    bound = bind(LOOPBACK, 0)
    async with await asyncio.start_server(take, sock=bound):
        _, writer = await asyncio.open_connection(*bound.getsockname())
        told = await asyncio.wait_for(found, 10)
        writer.close()
    return told


def test_the_end_of_an_answer_is_not_held_back() -> None:
    """Else a browser sees it some 40 ms after its beginning."""
    with ThreadPoolExecutor(1) as other:  # a loop of its own, whatever runs in this thread
        assert other.submit(asyncio.run, not_held_back()).result()
