/** Reads words aloud one clip after the other, where this pack has a voice; without one the button is not shown. */
import { loadSounds, openAudio, playOnce, unlock } from "./audio.js";
import { pickSounds } from "./sound_list.js";

const GAP_MS = 500;

/** @param {HTMLElement} button  its `data-read-aloud` names the clips, in order */
export async function wireReadAloud(button) {
  const wanted = (button.dataset["readAloud"] ?? "").split(" ").filter(Boolean);
  const listed = await (await fetch("data/sounds.json")).json();
  const found = wanted.filter((id) => id in listed);
  button.hidden = found.length === 0;
  button.addEventListener("click", async () => {
    const context = openAudio();
    const running = unlock(context);
    const { sounds } = await loadSounds(context, pickSounds(listed, new Set(found)));
    await running;
    button.setAttribute("aria-busy", "true");
    for (const id of found) {
      const sound = sounds.get(id);
      if (!sound) continue;
      await playOnce(context, sound);
      await new Promise((done) => { setTimeout(done, GAP_MS); });
    }
    button.removeAttribute("aria-busy");
  });
}
