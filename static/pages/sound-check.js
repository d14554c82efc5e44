/** Sound check: heard or not, and what the client wants to hear. The first time it comes between set-up and unit on. */
import { openAudio, loadSounds, playOnce, unlock } from "../parts/audio.js";
import { begin, pageOf } from "../parts/begin.js";
import { choose } from "../parts/choices.js";
import { one, onPress } from "../parts/elements.js";
import { setMeta } from "../parts/log_store.js";
import { screensOf } from "../parts/screens.js";
import { pickSounds } from "../parts/sound_list.js";

const here = await begin(document, null, "none");
const screens = screensOf(one(document, ".steps"));
const then = /^(zero-\d|today|help|sound)$/.exec(new URLSearchParams(location.search).get("then") ?? "")?.[0] ?? "today";
const context = openAudio();
const sounds = pickSounds(await (await fetch("data/sounds.json")).json());
const apart = here.plan.said_dysreflexia ?? []; // words for an emergency are no sound to try
const clip = sounds.find((each) => each.id.startsWith("c-") && !apart.includes(each.id));
const ready = loadSounds(context, sounds.filter((each) => each === clip || each.id === "rise"));

/** @param {"both" | "voice" | "tones" | "none"} voice */
async function settle(voice) {
  await choose(here.db, { voice });
  await setMeta(here.db, "sound_ok", { voice });
  const draft = here.draft;
  if (then.startsWith("zero") && draft?.stage === "set-up") await here.go(then, { ...draft, stage: "zero" });
  else await here.go(then);
}

one(document, "[data-leave]").setAttribute("href", then.startsWith("zero") && here.draft ? pageOf(here.draft) : then);
onPress(document, "[data-play]", async () => {
  const running = unlock(context);
  screens.show("heard");
  await running;
  const loaded = (await ready).sounds;
  for (const id of ["rise", clip?.id ?? ""]) {
    const buffer = loaded.get(id);
    if (buffer) await playOnce(context, buffer);
  }
});
onPress(document, "[data-heard]", () => screens.show("voice"));
onPress(document, "[data-not-heard]", () => screens.show("louder"));
onPress(document, "[data-no-sound]", () => settle("none"));
onPress(document, "[data-voice]", (button) => settle(/** @type {"both"} */ (button.dataset["voice"])));
