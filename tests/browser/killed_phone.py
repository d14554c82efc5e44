"""A phone whose browser is killed in the middle of sessions; what it said was saved is looked for afterwards."""

from __future__ import annotations

import random
from dataclasses import dataclass, field

from tests.browser.phone import Phone
from tests.browser.phone_store import READ, runs

CYCLES_EACH = 5
# each cycle and the end of each session as the timer writes them; `said` only after the phone's own module resolved
PRACTISE = """
  const [log, s] = await Promise.all(['log_store', 'session'].map(part));
  const db = await log.openStore();
  const of = { exercise: 1, version: 1, plan: 1, at_min: 29925190, utc_q: 0, planned_s: 1200, places: 2, channels: 1 };
  window.told = 0;
  const say = async (what, n) => { await window.said(what, n); window.told += 1; };
  void (async () => {
    for (let cycle = given[0]; ; cycle += 1) {
      const draft = { ...s.newDraft(of), cued_ms: 1000 * cycle, ended: 1, skin_after: [0, 0], note: String(cycle) };
      if (await log.saveDraft(db, { ...draft, stage: 'timer' })) await say('cycle', cycle);
      if (cycle % given[1] === 0) await say('record', (await log.closeDraft(db, s.sessionFields(draft, 'ma'))).seq);
    }
  })();
"""


@dataclass  # without slots: the browser tool keeps something of its own on what it calls
class KilledPhone:
    """What one phone said, over all its browser's lives."""

    phone: Phone
    chance: random.Random
    cycle: int = 0
    records: set[int] = field(default_factory=set)

    def practises_until_it_is_killed(self) -> None:
        """Goes on with cycles and sessions; at some moment the browser is gone."""
        phone = self.phone
        phone.context.expose_function("said", self._hears)
        phone.opens_a_page_that_carries_nothing()
        runs(phone.page, PRACTISE, [self.cycle + 1, CYCLES_EACH])
        phone.page.wait_for_function("(n) => window.told >= n", arg=self.chance.randint(1, 30), polling=5)
        phone.browser_is_killed()

    def _hears(self, what: str, n: int) -> None:
        if what == "record":
            self.records.add(n)
        else:
            self.cycle = max(self.cycle, n)

    def lost(self) -> list[str]:
        """Opens the browser again and says what is gone of that which had been called saved."""
        self.phone.opens_the_browser()
        self.phone.opens_a_page_that_carries_nothing()
        there = self.phone.records()
        found = [f"record {seq} is gone" for seq in sorted(self.records - {int(one["seq"]) for one in there})]
        numbers = [int(one["seq"]) for one in there]
        if numbers != list(range(1, len(numbers) + 1)):
            found.append(f"numbers with a gap: {numbers}")
        last = self._last_cycle()
        if last < self.cycle:
            found.append(f"cycle {self.cycle} was saved, {last} is the last one there")
        self.cycle = max(last, self.cycle)
        return found

    def _last_cycle(self) -> int:
        """Finds the last cycle, in the session under way or in the last one that was closed."""
        drafts = runs(self.phone.page, READ, "draft")
        notes = [one["note"] for one in [*self._sessions(), *drafts]]
        return max((int(note) for note in notes if note), default=0)

    def _sessions(self) -> list[dict[str, str]]:
        script = "const log = await part('log_store'); return await log.allRecords(await log.openStore());"
        return [one["record"] for one in runs(self.phone.page, script) if one["kind"] == "session"]
