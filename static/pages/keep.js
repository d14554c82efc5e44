/** Keep it on this phone: put on the home screen, and opened once from there. */
import { begin } from "../parts/begin.js";
import { every, one, onPress } from "../parts/elements.js";
import { askToPersist } from "../parts/log_store.js";
import { askForRejoinToken } from "../parts/sealed_post.js";

const iphone = /iPhone|iPad|iPod/.test(navigator.userAgent) || (navigator.userAgent.includes("Mac") && navigator.maxTouchPoints > 1);
const installed = matchMedia("(display-mode: standalone)").matches;

const here = await begin(document);
one(document, "[data-kept]").hidden = !installed;
one(document, "[data-open-once]").hidden = installed;
one(document, "[data-on]").classList.toggle("go", installed);
for (const card of every(document, "[data-kind]")) card.hidden = installed || (card.dataset["kind"] === "iphone") !== iphone;

/** @type {any} */
let prompt = null;
const button = one(document, "[data-install]");
addEventListener("beforeinstallprompt", (event) => {
  event.preventDefault();
  prompt = event;
  button.hidden = installed;
});
onPress(document, "[data-install]", async () => {
  await prompt?.prompt();
  button.hidden = true;
});
if (iphone && !installed && (await askForRejoinToken(here.db))) {
  one(document, "link[rel=manifest]").setAttribute("href", "rejoin.webmanifest"); // its app starts with a store of its own
}
if (installed && !(await askToPersist())) one(document, "[data-progress]").textContent = here.say("phone.keep.open_often");
