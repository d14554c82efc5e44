"""What lies on a phone, read and written through the phone's own modules, from whatever page of the plan is open."""

from __future__ import annotations

from typing import Any

from playwright.sync_api import Error, Page

MODULE = "const part = (name) => import(location.pathname.split('/', 3).join('/') + '/static/parts/' + name + '.js');"
READ = """
  const opening = indexedDB.open('wattlebird-' + location.pathname.split('/')[2]);
  const db = await new Promise((ok, no) => { opening.onsuccess = () => ok(opening.result); opening.onerror = no; });
  const asked = db.transaction(given).objectStore(given).getAll();
  const all = await new Promise((ok) => { asked.onsuccess = () => ok(asked.result); });
  db.close();
  const plain = { CryptoKey: () => null, Uint8Array: (bytes) => new TextDecoder('latin1').decode(bytes) };
  return JSON.parse(JSON.stringify(all, (_, value) => plain[value?.constructor?.name]?.(value) ?? value));
"""
WRITE = """
  const [count, note] = given;
  const log = await part('log_store');
  const db = await log.openStore();
  window.written = (async () => {
    for (let n = 0; n < count; n += 1) {
      await log.writeRecord(db, 'not_today', { exercise: 0, why: 5, note: note || String(n) });
    }
  })();
"""
CARRY = """
  const [log, carry] = await Promise.all(['log_store', 'carry_home'].map(part));
  const done = new Promise((heard) => carry.carryEvents.addEventListener('state', (event) => {
    if (!event.detail.trying) heard(event.detail);
  }));
  const carrier = carry.startCarrying(await log.openStore());
  const state = await done;
  carrier.stop();
  return state;
"""
REJOIN = """
  const [log, sealed] = await Promise.all(['log_store', 'sealed_post'].map(part));
  await sealed.askForRejoinToken(await log.openStore());
  return (await (await fetch('rejoin.webmanifest')).json()).start_url;
"""
FAIL_TO_WRITE = """
  const log = await part('log_store');
  const db = await log.openStore();
  const heard = [];
  log.storeEvents.addEventListener('trouble', (event) => heard.push(event.detail.reason));
  const writing = log.writeRecord(db, 'not_today', { exercise: 0, why: 5, note: '' });
  return [await writing.then(() => 'written', (error) => error.reason), ...heard];
"""
WRITE_CLOSED = """
  const log = await part('log_store');
  const db = await log.openStore();
  db.connection.close();
  await log.writeRecord(db, 'not_today', { exercise: 0, why: 5, note: '' });
"""
STORE_PACK = """
  const [handle, pack_id] = given;
  const worker = (await navigator.serviceWorker.getRegistration('/my/')).active;
  const store = () => new Promise((heard) => {
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = ({ data }) => { if (data.type !== 'progress') heard(data.reason ?? data.type); };
    worker.postMessage({ type: 'store-pack', handle, pack_id }, [port2]);
  });
  const outcomes = new Set();
  for (let n = 0; n < 2000 && !outcomes.has('stored'); n += 1) outcomes.add(await store());
  return [...outcomes].sort();
"""
CHECK_PACK = """
  const [handle, pack] = given;
  const [cache, base] = [await caches.open(`wattlebird-pack-${handle}-${pack}`), `/my/${handle}/pack/${pack}/`];
  const { files } = await (await cache.match(base + 'manifest.json')).json();
  const isRight = async ([path, { sha256, type }]) => {
    const kept = await cache.match(base + path);
    const hash = new Uint8Array(await crypto.subtle.digest('SHA-256', await kept.arrayBuffer()));
    return [...hash].map((byte) => byte.toString(16).padStart(2, '0')).join('') === sha256 && !kept.redirected;
  };
  const right = await Promise.all(Object.entries(files).map(isRight));
  return right.every(Boolean) && (await cache.keys()).length === right.length + 1;
"""
# no promise is waited for: where a new worker loads the page anew meanwhile, one would never be kept
ASK_WORKER = """() => {
  const before = window.workerSaid ?? '';
  const { port1, port2 } = new MessageChannel();
  port1.onmessage = ({ data }) => { window.workerSaid = data.type; };
  navigator.serviceWorker.controller?.postMessage({ type: 'have-pack', handle: '', pack_id: '' }, [port2]);
  return before;
}"""
FILES = """
  const kept = await (await caches.open(given)).keys();
  return kept.map((one) => one.url);
"""


def runs(page: Page, script: str, given: Any = None) -> Any:
    """Runs a script in a page; `part(name)` gives it a module of the plan."""
    return page.evaluate(f"async (given) => {{ {MODULE} {script} }}", given)


class PhoneStore:
    """The part of a phone that is its store; `page` is the page that is open."""

    address: str

    @property
    def page(self) -> Page:
        raise NotImplementedError

    @property
    def handle(self) -> str:
        """Gives the phone's public name in its addresses."""
        return self.address.split("/")[-2]

    def records(self) -> list[dict[str, Any]]:
        """Reads the log as it lies on this phone."""
        found: list[dict[str, Any]] = runs(self.page, READ, "records")
        return found

    def meta(self) -> dict[str, Any]:
        """Reads what this phone knows of itself."""
        try:
            found = runs(self.page, READ, "meta")
        except Error as error:
            if "context was destroyed" not in str(error):
                raise
            self.page.wait_for_load_state()  # a new release loads its pages anew: reading may be done again
            found = runs(self.page, READ, "meta")
        return {one["name"]: one.get("value") for one in found}

    def writes_a_record(self, note: str = "") -> None:
        """Writes a record as the pages do."""
        runs(self.page, WRITE, [1, note])
        self.page.evaluate("window.written")

    def writes_many_records(self, count: int) -> None:
        """Writes so many records one after the other."""
        runs(self.page, WRITE, [count, ""])
        self.page.evaluate("window.written")

    def writes_records_in_both_pages(self, other: Page, each: int) -> None:
        """Has both windows write at the same time."""
        for page in (self.page, other):
            runs(page, WRITE, [each, ""])
        for page in (self.page, other):
            page.evaluate("window.written")

    def fails_to_write(self) -> list[str]:
        """Tries to write a record and gives the reasons that the page is told: by the error, by the event."""
        reasons: list[str] = runs(self.page, FAIL_TO_WRITE)
        return reasons

    def writes_with_the_connection_closed(self) -> None:
        """Writes a record through a connection that the browser has closed."""
        runs(self.page, WRITE_CLOSED)

    def carries_the_log_home(self) -> dict[str, Any]:
        """Has this phone sync now and says how it stands."""
        state: dict[str, Any] = runs(self.page, CARRY)
        return state

    def starts_a_session(self) -> None:
        """Has a session under way, as the pages keep it."""
        runs(self.page, "const log = await part('log_store'); const draft = { exercise: 1, stage: 'skin' };"
             " await log.saveDraft(await log.openStore(), draft);")  # fmt: skip

    def lets_the_session_go(self) -> None:
        """Drops the session under way."""
        runs(self.page, "const log = await part('log_store'); await log.dropDraft(await log.openStore());")

    def tries_to_take(self, pack: dict[str, Any]) -> str:
        """Tries to make a pack the one in use."""
        script = "const [log, updates] = await Promise.all(['log_store', 'updates'].map(part));"
        return str(runs(self.page, script + " return updates.makeCurrent(await log.openStore(), given);", pack))

    def holds_its_plan_whole(self) -> bool:
        """Tells whether the plan in use is whole on this phone."""
        script = "return (await part('pack_keeper')).havePack(given[0], given[1]);"
        return bool(runs(self.page, script, [self.handle, self.meta()["current_pack"]["pack_id"]]))

    def stores_a_pack(self, pack: str) -> list[str]:
        """Has the worker store a pack, again and again until it is whole; gives what each try came to, each once."""
        found: list[str] = runs(self.page, STORE_PACK, [self.handle, pack])
        return found

    def keeps_what_the_manifest_names(self, pack: str) -> bool:
        """Tells whether every file that is kept of a pack is byte for byte what its manifest names, and all are."""
        return bool(runs(self.page, CHECK_PACK, [self.handle, pack]))

    def worker_said(self) -> str:
        """Asks the worker in charge for a plan; gives what it said when it was last asked, or nothing yet."""
        return str(self.page.evaluate(ASK_WORKER))

    def asks_the_waiting_worker_to_take_over(self) -> str:
        """Tells a new worker to take over, and gives its answer."""
        return str(runs(self.page, "return (await part('pack_keeper')).letNewWorkerTakeOver();"))

    def looks_for_a_new_worker(self) -> bool:
        """Has the browser look for a new worker; tells whether one waits."""
        script = "const found = await navigator.serviceWorker.getRegistration('/my/'); await found.update();"
        return bool(runs(self.page, script + " return found.waiting !== null;"))

    def asks_for_a_rejoin_address(self) -> str:
        """Asks for the manifest of a home-screen app with a store of its own; gives its start address."""
        return self.address + str(runs(self.page, REJOIN))

    def loses_its_cached_pages(self, holding: str = "") -> None:
        """Loses the caches whose name holds some text, but not the log."""
        script = "const names = (await caches.keys()).filter((name) => name.includes(given));"
        runs(self.page, script + " await Promise.all(names.map((name) => caches.delete(name)));", holding)

    def files_of_the_plan(self) -> list[str]:
        """Lists every file of the plan in use."""
        pack = self.meta()["current_pack"]["pack_id"]
        urls: list[str] = runs(self.page, FILES, f"wattlebird-pack-{self.handle}-{pack}")
        return sorted(url.split(f"/pack/{pack}/")[1] for url in urls)

    def status_of(self, path: str) -> int:
        """Fetches an address under this phone's own and gives the answer's status."""
        return int(runs(self.page, "return (await fetch(given)).status;", self.address + path))

    def headers_of(self, path: str) -> dict[str, str]:
        """Fetches an address under this phone's own and gives the answer's headers."""
        script = "return Object.fromEntries((await fetch(given)).headers);"
        found: dict[str, str] = runs(self.page, script, self.address + path)
        return found
