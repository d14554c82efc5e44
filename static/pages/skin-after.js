/** The skin after a session: what is expected is looked at again later, a finding is told the same day. */
import { begin, draftOf } from "../parts/begin.js";
import { one, onPress } from "../parts/elements.js";
import { withAt } from "../parts/session.js";
import { outcome } from "../parts/skin_rules.js";
import { askSkin } from "../parts/skin_questions.js";

const here = await begin(document, "skin-after");
const group = one(document, ".steps");
const goOn = () => here.go(group.dataset["next"] ?? "today", { ...draftOf(here), stage: "questions" });

const screens = askSkin(group, {
  table: here.plan.skin_after,
  onAnswer: (place, answer) => {
    here.draft = { ...draftOf(here), skin_after: withAt(draftOf(here).skin_after, place, answer) };
  },
  onEnd: async () => {
    await here.save(draftOf(here));
    const found = outcome(here.plan.skin_after, draftOf(here).skin_after);
    if (found === "look_later" || found === "call") screens.show(found);
    else await goOn();
  },
});
onPress(group, "[data-go-on]", goOn);
