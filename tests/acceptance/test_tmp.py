import pytest
from tests.acceptance.terminal import terminal
async def test_day(day):
    async with terminal(day.shop) as t:
        print(t.screen())
        await t.press("f6")
        await t.enter("SK 2690")
        print(t.screen())
        await t.press("n")
        await t.write("K204")
        await t.settled()
        print(t.screen())
        await t.press("down"); await t.press("enter")
        print(t.screen())
        await t.enter(); print(t.screen())
        await t.enter("pressure sags overnight")
        print(t.screen())
