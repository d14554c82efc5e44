/** How the skin is an hour later, or the next morning. */
import { begin, exerciseOf } from "../parts/begin.js";
import { one, only } from "../parts/elements.js";
import { allRecords, writeRecord } from "../parts/log_store.js";
import { screensOf } from "../parts/screens.js";
import { NOT_ANSWERED, withAt } from "../parts/session.js";
import { askSkin } from "../parts/skin_questions.js";
import { lookDue, NEXT_MORNING } from "../parts/skin_due.js";
import { outcome } from "../parts/skin_rules.js";

const here = await begin(document);
const found = lookDue(here.plan, await allRecords(here.db), here.nowMin());
if (!found) await here.go("today");
const due = /** @type {NonNullable<typeof found>} */ (found);
const exercise = exerciseOf(here, due.exercise);
const group = only(document, exercise.exercise);
const table = due.when === NEXT_MORNING ? here.plan.skin_next_morning : here.plan.skin_hour_later;
let skin = exercise.places.map(() => NOT_ANSWERED.skin);

askSkin(group, {
  table,
  onAnswer: (place, answer) => { skin = withAt(skin, place, answer); },
  onEnd: async () => {
    await writeRecord(here.db, "skin_later", { session_seq: due.session_seq, when: due.when, skin });
    const way = outcome(table, skin);
    group.hidden = true;
    const ending = one(document, "[data-ending]");
    ending.hidden = false;
    screensOf(ending).show(way === "call" || way === "look_later" ? way : "fine");
  },
});
