/** The skin before a session: each place in turn, and where the answers lead. */
import { isAsked } from "../parts/asked.js";
import { begin, exerciseOf } from "../parts/begin.js";
import { carryEvents } from "../parts/carry_home.js";
import { dayState } from "../parts/day.js";
import { every, only, onPress } from "../parts/elements.js";
import { allRecords, dropDraft, getMeta, localNow, writeRecord } from "../parts/log_store.js";
import { otherRests } from "../parts/other_rests.js";
import { screensOf } from "../parts/screens.js";
import { isUnderSkin, newDraft, NOT_ANSWERED, withAt } from "../parts/session.js";
import { outcome } from "../parts/skin_rules.js";
import { pinkToday } from "../parts/skin_history.js";
import { askSkin } from "../parts/skin_questions.js";

const here = await begin(document, "skin");
// before anything is read: what is heard meanwhile must not be missed. Today says what rests, and goes on where nothing does
carryEvents.addEventListener("other_rests", () => here.go("today"));
const exercise = exerciseOf(here);
const log = await allRecords(here.db);
const day = dayState(here.plan, log, here.nowMin(), await getMeta(here.db, "rest_ended") ?? 0, await otherRests(here.db), await getMeta(here.db, "told_of") ?? 0);
const open = (day.kind === "ready" || day.kind === "day_off") && day.next !== null && !day.resting.includes(exercise.exercise);
if (!open) await here.go("today");
const slot = day.slots.find((each) => each.exercise === exercise.exercise && each.state === "to_go");
const again = new URLSearchParams(location.search).has("again");
const goesOn = here.draft?.exercise === exercise.exercise && here.draft.version === here.plan.version && !again && isUnderSkin(here.draft, Date.now());
await here.save(goesOn && here.draft ? here.draft : newDraft({
  exercise: exercise.exercise, version: here.plan.version, plan: here.plan.plan, ...localNow(),
  planned_s: slot?.session_s ?? exercise.session_s, places: exercise.places.length, channels: exercise.channel_names.length,
}));
const group = only(document, exercise.exercise);
const asksPain = isAsked(here.plan.asks["pain"], exercise, day);

const screens = screensOf(group);
onPress(group, "[data-step=pain] [data-back]", () => screens.show(every(group, "[data-step=look]").at(-1)));
onPress(group, "[data-step=pain] [data-value]", async (button) => {
  if (here.draft) await here.go(`set-up-${exercise.exercise}`, { ...here.draft, stage: "set-up", pain_before_n: Number(button.dataset["value"]) });
});

askSkin(group, {
  table: here.plan.skin_before,
  answered: here.draft?.skin_before ?? [],
  onAnswer: (place, answer) => here.draft && here.save({ ...here.draft, skin_before: withAt(here.draft.skin_before, place, answer) }),
  onEnd: () => lead(),
});

async function lead() {
  const answers = here.draft?.skin_before ?? [];
  const found = outcome(here.plan.skin_before, answers);
  if (found === "go") return goOn();
  await noteFindings(answers);
  if (found === "ask") return leave("no-practice?why=ask");
  if (found === "no_practice") return leave("no-practice", 2);
  const again = pinkToday(here.plan, log, exercise.exercise, here.nowMin());
  return again ? leave("enough?why=1", 1) : leave("wait");
}

async function goOn() {
  if (asksPain) screens.show("pain");
  else if (here.draft) await here.go(`set-up-${exercise.exercise}`, { ...here.draft, stage: "set-up" });
}

/** @param {number[]} answers */
async function noteFindings(answers) {
  for (const [place_n, skin] of answers.entries()) {
    if (skin === 0 || skin === NOT_ANSWERED.skin) continue;
    await writeRecord(here.db, "finding", { exercise: exercise.exercise, what: 1, place_n, skin, pain_n: NOT_ANSWERED.scale, note: "" });
  }
}

/**
 * Leaves the session before it began.
 * @param {string} path
 * @param {number} [why]
 */
async function leave(path, why) {
  if (why) await writeRecord(here.db, "not_today", { exercise: exercise.exercise, why, note: "" });
  await dropDraft(here.db);
  await here.go(path);
}
