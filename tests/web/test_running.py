"""Commands that the page starts: what they print is there in the end, however long it is."""

import asyncio
import sys

from inkaccord.web.running import Running


def test_a_result_that_is_kept_is_kept_whole() -> None:
    async def run() -> Running:
        running = Running(keeps=True)
        await running.go([sys.executable, "-c", "print('[' + '1,' * 2_000_000 + '1]')"])
        return running

    running = asyncio.run(run())
    assert running.exit_code == 0
    assert running.printed.split() == [b"[" + b"1," * 2_000_000 + b"1]"]


def test_what_is_stopped_before_it_has_begun_does_not_go_on() -> None:
    async def run() -> Running:
        running = Running()
        running.stop()
        await asyncio.wait_for(
            running.go([sys.executable, "-c", "import time; time.sleep(99)"]), 20
        )
        return running

    assert asyncio.run(run()).fell
