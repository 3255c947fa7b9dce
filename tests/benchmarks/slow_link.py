"""A slow link: a proxy on this machine that passes bytes on as a poor mobile link does."""

import asyncio
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from queue import Queue

CHUNK = 4096


class _Link:
    """One direction: so many bytes a second for all connections together, each chunk late by half the round trip."""

    def __init__(self, bytes_per_s: float, delay_s: float) -> None:
        self.bytes_per_s, self.delay_s = bytes_per_s, delay_s
        self.free_at = 0.0

    async def carry(self, source: asyncio.StreamReader, target: asyncio.StreamWriter) -> None:
        clock = asyncio.get_running_loop().time
        while chunk := await source.read(CHUNK):
            self.free_at = max(self.free_at, clock()) + len(chunk) / self.bytes_per_s
            await asyncio.sleep(self.free_at - clock())
            asyncio.get_running_loop().call_later(self.delay_s, target.write, chunk)
        await asyncio.sleep(self.delay_s)
        target.close()


@contextmanager
def slow_link(port: int, *, kbit_s: float = 256, round_trip_ms: float = 400) -> Iterator[str]:
    """Give the address at which a server of this machine is reached over a slow link."""
    down, up = (_Link(kbit_s * 125, round_trip_ms / 2000) for _ in range(2))
    found: Queue[tuple[int, asyncio.AbstractEventLoop, asyncio.Event]] = Queue()

    async def meet(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        server_reader, server_writer = await asyncio.open_connection("127.0.0.1", port)
        with suppress(asyncio.CancelledError):  # the link is taken away under who still talks
            await asyncio.gather(
                up.carry(reader, server_writer), down.carry(server_reader, writer), return_exceptions=True
            )

    async def pass_on() -> None:
        server, done = await asyncio.start_server(meet, "127.0.0.1", 0), asyncio.Event()
        found.put((server.sockets[0].getsockname()[1], asyncio.get_running_loop(), done))
        await done.wait()
        server.close()

    thread = threading.Thread(target=asyncio.run, args=(pass_on(),), daemon=True)
    thread.start()
    own_port, loop, done = found.get(timeout=10)
    yield f"http://127.0.0.1:{own_port}"
    loop.call_soon_threadsafe(done.set)
    thread.join(timeout=10)
