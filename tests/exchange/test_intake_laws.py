"""The laws of the exchange, whatever the network does: confirmed ⊆ stored ⊆ written, and nothing twice.

After Jepsen's set test: add distinct elements under faults, then read; every acknowledged one must be there.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from tests.exchange.invented_phone import NOW_MS, InventedPhone, add_phone
from webapp.intake import Receipt, take_in
from webapp.storage import records
from webapp.storage.database import Store


class Exchange(RuleBasedStateMachine):
    """Two stores of one device (the second one a copy made at some moment) and a network that loses and repeats."""

    @initialize()
    def a_clinic_opens(self) -> None:
        self.folder = tempfile.TemporaryDirectory()
        self.store = Store(Path(self.folder.name) / "practice.db")
        self.db = self.store.connect()
        first = add_phone(self.store, "SL-07")
        self.phones = [first]
        self.under_way: list[tuple[InventedPhone, list[bytes]]] = []
        self.answers: list[tuple[InventedPhone, Receipt]] = []

    def _phone(self, n: int) -> InventedPhone:
        return self.phones[n % len(self.phones)]

    @rule(n=st.integers(0, 3), note=st.text(max_size=8))
    def a_phone_writes(self, n: int, note: str) -> None:
        self._phone(n).writes(note)

    @rule()
    def the_store_is_copied_to_another_phone(self) -> None:
        if len(self.phones) < 3:
            first = self.phones[0]
            self.phones.append(InventedPhone(device=first.device, log=list(first.log), confirmed=first.confirmed))

    @rule(n=st.integers(0, 3))
    def a_phone_sends(self, n: int) -> None:
        phone = self._phone(n)
        self.under_way.append((phone, phone.log[phone.confirmed :]))

    @rule(data=st.data())
    def a_request_arrives(self, data: st.DataObject) -> None:
        """Any request under way, in any order, perhaps to arrive once more later, its records perhaps shuffled."""
        if self.under_way:
            place = data.draw(st.integers(0, len(self.under_way) - 1))
            phone, batch = self.under_way[place]
            shuffled = data.draw(st.permutations(batch))
            with self.store.write(self.db):
                receipt = take_in(self.db, phone.device, shuffled, "sync", phone.name, NOW_MS)
            self.answers.append((phone, receipt))
            if data.draw(st.booleans()):
                self.under_way.pop(place)

    @rule(data=st.data())
    def a_request_is_lost(self, data: st.DataObject) -> None:
        if self.under_way:
            self.under_way.pop(data.draw(st.integers(0, len(self.under_way) - 1)))

    @rule(data=st.data())
    def an_answer_arrives(self, data: st.DataObject) -> None:
        if self.answers:
            phone, receipt = self.answers.pop(data.draw(st.integers(0, len(self.answers) - 1)))
            phone.hears(receipt)

    @rule(data=st.data())
    def an_answer_is_lost(self, data: st.DataObject) -> None:
        if self.answers:
            self.answers.pop(data.draw(st.integers(0, len(self.answers) - 1)))

    @invariant()
    def what_a_phone_believes_received_is_stored(self) -> None:
        held = self._stored()
        for phone in getattr(self, "phones", []):
            assert set(phone.log[: phone.confirmed]) <= held

    @invariant()
    def only_what_a_phone_wrote_is_stored(self) -> None:
        written = {record for phone in getattr(self, "phones", []) for record in phone.log}
        assert self._stored() <= written

    def _stored(self) -> set[bytes]:
        if not hasattr(self, "phones"):
            return set()
        found = [one.content for one in records.of_device(self.db, self.phones[0].device.device)]
        assert len(found) == len(set(found)), "a record is stored twice"
        return set(found)

    def teardown(self) -> None:
        """When the network is whole again, every phone's log gets home and every phone knows it."""
        if not hasattr(self, "phones"):
            return
        for phone in self.phones:
            with self.store.write(self.db):
                receipt = take_in(self.db, phone.device, phone.log, "sync", phone.name, NOW_MS)
            assert set(phone.log) <= self._stored()
            assert receipt.through >= len(phone.log)
            if receipt.through == len(phone.log):
                assert phone.believes(receipt)
        self.db.close()
        self.store.close()
        self.folder.cleanup()


Exchange.TestCase.settings = settings(max_examples=60, stateful_step_count=30)
TestExchange = Exchange.TestCase
