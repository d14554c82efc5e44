"""The laws of the whole exchange: confirmed ⊆ stored ⊆ recorded, each once, whatever breaks and whatever road is taken.

After Jepsen's set test: add distinct elements under faults, then read; every acknowledged one must be there. Here the
faults are those of networks (requests and answers lost, repeated, reordered, cut at any byte, replaced by a sign-in
page), of phones (two of them, one store copied to another, wiped, a clock that is wrong) and of the practice (a backup
put back); the roads are sync, codes, files and typed digits, mixed.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from tests.browser.faulty_proxy import PORTAL
from tests.trust.phones import ModelPhone, Sent, another_phone, new_phone
from tests.trust.practice import ServedPractice

YEAR_MIN = 525_600
# power cuts are not told of here (tests/trust/power_cuts.py cuts them), so no story need wait for a disk
MEMORY = Path("/dev/shm")
FIRST, ANY = st.integers(0, 7), st.integers(0, 2**32)


class Exchange(RuleBasedStateMachine):
    """A practice, its phones, and everything that is on its way between them."""

    @initialize()
    def a_practice_opens(self) -> None:
        self.folder = tempfile.TemporaryDirectory(prefix="wattlebird-", dir=MEMORY if MEMORY.is_dir() else None)
        self.practice = ServedPractice(Path(self.folder.name))
        self.phones = [new_phone(self.practice.store, "SL-07")]
        self.recorded: set[bytes] = set()
        self.copied: set[str] = set()
        self.requests: list[tuple[ModelPhone, Sent]] = []
        self.answers: list[tuple[ModelPhone, bytes]] = []
        self.tab: list[str] = []
        self.slips: list[tuple[ModelPhone, int, str, str]] = []

    def _phone(self, n: int) -> ModelPhone:
        return self.phones[n % len(self.phones)]

    # --- what phones do ---

    @rule(n=FIRST, seed=ANY, count=st.integers(1, 3))
    def a_phone_records(self, n: int, seed: int, count: int) -> None:
        for more in range(count):
            self.recorded.add(self._phone(n).writes(seed + more, self.practice.clock.ms))

    @rule(n=FIRST)
    def a_phone_sends(self, n: int) -> None:
        self.requests.append((self._phone(n), self._phone(n).sends(self.practice.clock.ms)))

    @rule(n=FIRST)
    def a_phone_syncs(self, n: int) -> None:
        """The usual case, so that much of it happens among the faults."""
        phone = self._phone(n)
        phone.hears(self.practice.gets(phone.sends(self.practice.clock.ms)))

    @rule(n=FIRST, skew_min=st.sampled_from([-YEAR_MIN, -60, 0, 60, YEAR_MIN]))
    def a_phones_clock_is_set(self, n: int, skew_min: int) -> None:
        self._phone(n).skew_min = skew_min

    @rule(same_client=st.booleans())
    def another_phone_is_let_in(self, same_client: bool) -> None:
        if len(self.phones) < 4:
            first = self.phones[0].device
            store = self.practice.store
            known = same_client and self.practice.knows(self.phones[0])
            code = f"SL-{100 + self.practice.clock.ms % 10_000_000}-{len(self.phones)}"
            self.phones.append(another_phone(store, first.client_id, first) if known else new_phone(store, code))

    @rule(n=FIRST)
    def a_store_is_copied_to_another_phone(self, n: int) -> None:
        if len(self.phones) < 4:
            phone = self._phone(n)
            self.phones.append(phone.copy())
            self.copied.add(phone.device.device)

    @rule(n=FIRST)
    def a_phone_is_wiped(self, n: int) -> None:
        """Its store is gone with all that was not sent; let in again, it is another device of the same client."""
        old = self._phone(n)
        if self.practice.knows(old):
            self.phones[n % len(self.phones)] = another_phone(self.practice.store, old.device.client_id, old.device)

    @rule(n=FIRST)
    def a_phone_erases_what_was_received_long_ago(self, n: int) -> None:
        """What a backup put back later lacks, and no phone has any more, is a gap; it stops nothing."""
        self._phone(n).erases()

    @rule(n=FIRST)
    def a_phone_is_withdrawn(self, n: int) -> None:
        self.practice.withdraws(self._phone(n))

    # --- what the network does ---

    @rule(data=st.data(), again=st.booleans())
    def a_request_arrives(self, data: st.DataObject, again: bool) -> None:
        """Any of those under way, in any order; perhaps the same one arrives once more later."""
        if self.requests:
            place = data.draw(st.integers(0, len(self.requests) - 1))
            phone, sent = self.requests[place]
            self.answers.append((phone, self.practice.gets(sent)))
            if not again:
                self.requests.pop(place)

    @rule(data=st.data())
    def a_request_is_lost(self, data: st.DataObject) -> None:
        if self.requests:
            self.requests.pop(data.draw(st.integers(0, len(self.requests) - 1)))

    @rule(data=st.data(), again=st.booleans())
    def an_answer_arrives(self, data: st.DataObject, again: bool) -> None:
        if self.answers:
            place = data.draw(st.integers(0, len(self.answers) - 1))
            phone, answer = self.answers[place]
            phone.hears(answer)
            if not again:
                self.answers.pop(place)

    @rule(data=st.data())
    def an_answer_is_cut(self, data: st.DataObject) -> None:
        """After any byte but the last: what is left is never believed."""
        if self.answers:
            phone, answer = self.answers.pop(data.draw(st.integers(0, len(self.answers) - 1)))
            assert not phone.hears(answer[: data.draw(st.integers(0, len(answer) - 1))])

    @rule(data=st.data())
    def an_answer_goes_to_the_wrong_phone(self, data: st.DataObject) -> None:
        if self.answers:
            meant, answer = data.draw(st.sampled_from(self.answers))
            for phone in self.phones:
                if phone.device.device != meant.device.device:
                    assert not phone.hears(answer)

    @rule(n=FIRST)
    def a_sign_in_page_answers(self, n: int) -> None:
        assert not self._phone(n).hears(PORTAL)

    # --- codes, files, digits ---

    @rule(n=FIRST, all_of_it=st.booleans(), max_version=st.sampled_from([5, 10, 15]), data=st.data())
    def codes_are_read(self, n: int, all_of_it: bool, max_version: int, data: st.DataObject) -> None:
        """Some of the codes, in any order, some of them twice; they stay in the therapist's tab."""
        phone = self._phone(n)
        shown = phone.shows(0 if all_of_it else phone.through, max_version)
        if shown:
            self.tab += data.draw(st.lists(st.sampled_from(shown), max_size=6))

    @rule(n=FIRST)
    def a_file_is_dropped(self, n: int) -> None:
        self._taken_in(self._phone(n).shows(0, None), "file")

    @rule()
    def the_tab_hands_in(self) -> None:
        self._taken_in(self.tab, "code")
        self.tab = self.tab[-2:]  # a few stay, and come again

    def _taken_in(self, payloads: list[str], road: str) -> None:
        for digits in self.practice.takes_in(payloads, road):
            for phone in self.phones:
                self.slips.append((phone, self.practice.goes_through(phone), digits, self.practice.epoch))

    @rule(data=st.data())
    def digits_are_typed(self, data: st.DataObject) -> None:
        """By the client, a helper, much later, on any of the phones.

        Not where they say nothing new: one number in a million is right by chance, and people do not type for nothing.
        """
        if self.slips:
            phone, through, digits, epoch = data.draw(st.sampled_from(self.slips))
            if through > phone.through:
                phone.is_told(digits, epoch)

    # --- what the practice does ---

    @rule()
    def the_practice_is_backed_up(self) -> None:
        if len(self.practice.backups) < 2:
            self.practice.is_backed_up()

    @rule(which=st.integers(0, 1))
    def a_backup_is_put_back(self, which: int) -> None:
        if self.practice.backups:
            self.practice.is_put_back(which)

    @rule(minutes=st.integers(1, 20))
    def time_passes(self, minutes: int) -> None:
        self.practice.clock.pass_minutes(minutes)

    # --- the laws ---

    @invariant()
    def what_is_confirmed_is_stored(self) -> None:
        """By the word of the store that is served; what one before it said is taken back at the next contact."""
        for phone in getattr(self, "phones", []):
            if phone.word_of == self.practice.epoch:
                assert set(phone.received) <= self._contents(phone)

    @invariant()
    def what_is_stored_was_recorded(self) -> None:
        for phone in getattr(self, "phones", []):
            assert self._contents(phone) <= self.recorded

    def _contents(self, phone: ModelPhone) -> set[bytes]:
        """Reads what is stored of a phone; each record once, and each number has one that counts."""
        stored = self.practice.stored(phone)
        contents = [one.content for one in stored]
        assert len(contents) == len(set(contents)), "a record is stored twice"
        counted = [one.seq for one in stored if not one.aside]
        assert sorted(set(counted)) == sorted(counted) == sorted({one.seq for one in stored})
        return set(contents)

    def teardown(self) -> None:
        """With networks whole again everything gets home, and each phone is told so, by sync or by typed digits.

        Of two copies of one store, digits may speak of the other one's longer chain, wiped or not: sync tells each its
        own.
        """
        if not hasattr(self, "phones"):
            return
        for n, phone in enumerate(self.phones):
            if self.practice.knows(phone):
                self._comes_home_by_code(phone) if n % 2 else self._comes_home_by_sync(phone)
                assert set(phone.log[phone.erased_n :]) <= self._contents(phone)
        self.what_is_confirmed_is_stored()
        self.practice.closes()
        self.folder.cleanup()

    def _comes_home_by_sync(self, phone: ModelPhone) -> None:
        for _ in range(4 + len(self.phones)):
            phone.hears(self.practice.gets(phone.sends(self.practice.clock.ms)))
        assert all(map(phone.covers, range(phone.erased_n + 1, len(phone.log) + 1)))

    def _comes_home_by_code(self, phone: ModelPhone) -> None:
        digits = self.practice.takes_in(phone.shows(0, 10), "code")
        for one in digits:
            phone.is_told(one, self.practice.epoch)
        is_copied = phone.device.device in self.copied
        assert phone.through == len(phone.log) or is_copied or phone.through < phone.erased_n


Exchange.TestCase.settings = settings(
    max_examples=200, stateful_step_count=30, deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])
TestExchange = Exchange.TestCase
