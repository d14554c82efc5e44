/** Enough for today, and why. */
import { begin } from "../parts/begin.js";
import { one } from "../parts/elements.js";

const KNOWN = ["1", "6", "pain"];

const here = await begin(document);
const why = new URLSearchParams(location.search).get("why") ?? "";
if (KNOWN.includes(why)) one(document, "[data-why]").textContent = here.say(`phone.enough.why_${why}`);
one(document, "[data-call]").hidden = why !== "pain";
