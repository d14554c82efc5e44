/** My log: what was done and said, day by day, and whether the therapist has it. */
import { begin, exerciseOf } from "../parts/begin.js";
import { doneTick, make, one, onPress } from "../parts/elements.js";
import { dayOf, dayWords } from "../parts/local_time.js";
import { logRow } from "../parts/log_rows.js";
import { allRecords, storeEvents, writeRecord } from "../parts/log_store.js";
import { NOT_ANSWERED } from "../parts/session.js";
import { watchUpdates } from "../parts/updates.js";

const SHOWN = 60;

const here = await begin(document);
const { say, plan } = here;
const list = one(document, "[data-days]");
const ask = one(document, "[data-ask]");
const words = { say, language: plan.language, titleOf: (/** @type {number} */ exercise) => exerciseOf(here, exercise).title };
let asked = 0;

/** @param {import("../parts/log_rows.js").Row} row @param {number} received_ms */
function drawn({ title, lines, done }, received_ms) {
  const item = make(document, "li", "card row");
  const box = make(document, "div", "grow");
  box.append(
    make(document, "strong", "", title), ...lines.map((line) => make(document, "p", "", line)),
    make(document, "p", "note", say(received_ms > 0 ? "phone.log.received" : "phone.log.saved")));
  if (done) item.append(doneTick(document));
  item.append(box);
  return item;
}

async function show() {
  const all = (await allRecords(here.db)).reverse().slice(0, SHOWN);
  const days = new Map();
  for (const kept of all) {
    const row = logRow(kept, words);
    const day = dayOf(kept.record["at_min"]);
    if (row) days.set(day, [...(days.get(day) ?? []), drawn(row, kept.received_ms)]);
  }
  list.replaceChildren(...[...days].flatMap(([day, rows]) => {
    const group = make(document, "ul", "rows");
    group.append(...rows);
    return [make(document, "h2", "", dayWords(day, plan.language)), group];
  }));
  one(document, "[data-none]").hidden = days.size > 0;
  one(document, "[data-kept]").hidden = days.size === 0;
}

onPress(document, "[data-changed]", (button) => { // one tap too many must not change what the therapist reads
  asked = Number(button.dataset["changed"]);
  one(ask, "h2").textContent = button.textContent;
  ask.hidden = false;
  one(ask, "h2").focus();
});
onPress(document, "[data-ask-no]", () => { ask.hidden = true; });
onPress(document, "[data-ask-yes]", async () => {
  ask.hidden = true;
  await writeRecord(here.db, "changed", { what: asked, version: plan.version, by: NOT_ANSWERED.by });
  one(document, "[data-noted]").textContent = say("phone.log.changed");
  await show();
});
storeEvents.addEventListener("received", show);
watchUpdates(here.db, { onOffer: () => undefined, onProgress: () => undefined, onTrouble: () => undefined });
await show();
