"""Gathering: what many ask for, asked of the store together and after a pause, so that many cost as little as one."""

import asyncio
from collections.abc import Awaitable, Callable, Mapping, Sequence
from itertools import islice
from typing import Final, Generic, TypeVar

PAUSE_SECONDS: Final = 0.05
MOST_TOGETHER: Final = 500

Answer = TypeVar("Answer")


async def pause() -> None:
    """Let others come up with what they ask for."""
    await asyncio.sleep(PAUSE_SECONDS)


class Gathering(Generic[Answer]):
    """Whoever asks waits for the next round: one at a time, each after a pause, with all that was asked for by then."""

    def __init__(
        self,
        ask: Callable[[Sequence[str]], Awaitable[Mapping[str, Answer]]],
        *,
        pause: Callable[[], Awaitable[None]] = pause,
    ) -> None:
        self._ask = ask
        self._pause = pause
        self._waiting: dict[str, asyncio.Future[Answer | None]] = {}
        self._rounds: asyncio.Task[None] | None = None

    async def ask(self, name: str) -> Answer | None:
        """What the store says of a name, None if nothing; raises what asking raises."""
        if name not in self._waiting:
            self._waiting[name] = asyncio.get_running_loop().create_future()
        answer = self._waiting[name]
        if self._rounds is None:
            self._rounds = asyncio.create_task(self._go_round())
        return await asyncio.shield(answer)

    async def _go_round(self) -> None:
        try:
            while self._waiting:
                await self._pause()
                names = tuple(islice(self._waiting, MOST_TOGETHER))
                await self._answer({name: self._waiting.pop(name) for name in names})
        finally:
            self._rounds = None

    async def _answer(self, asked: Mapping[str, asyncio.Future[Answer | None]]) -> None:
        try:
            found = await self._ask(tuple(asked))
        except Exception as error:
            for answer in asked.values():
                answer.set_exception(error)
        else:
            for name, answer in asked.items():
                answer.set_result(found.get(name))
