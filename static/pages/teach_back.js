/** Teach-back: one step a screen, as the client sees them; a mark leads to the next. Without this script all steps stand below one another. */
import { every, one, onPress } from "../parts/elements.js";
import { sendPhoto } from "../parts/photo_sending.js";

const form = document.querySelector("[data-dry]");
const all = form instanceof HTMLFormElement ? every(form, "[data-step]") : [];

/** A dry run leaves out what is done with the unit on. */
function steps() {
  const dry = document.querySelector("input[name=unit][value=dry]:checked") !== null;
  return all.filter((step) => !dry || !step.hasAttribute("data-practised"));
}

/** @param {number} at */
function show(at) {
  const step = steps()[at];
  for (const other of all) other.toggleAttribute("data-now", other === step);
  if (!step) return;
  /** @type {HTMLElement | null} */ (step.querySelector("h2, input[type=radio]"))?.focus({ preventScroll: true });
  step.scrollIntoView({ block: "nearest" });
  one(document, "[data-back]").hidden = at === 0;
}

const now = () => steps().findIndex((step) => step.hasAttribute("data-now"));

if (form instanceof HTMLFormElement) {
  const marked = every(form, "input[name^=mark]:checked").length > 0;
  const at = Number(form.dataset["at"] ?? 0); // the step that was changed in the middle of the run
  if ((at || !marked) && !document.querySelector("[data-problems]")) {
    form.dataset["one"] = "";
    show(Math.max(0, at - 1));
  }
  wirePhotos(form);
  form.addEventListener("click", (event) => {
    const chosen = event.target; // as above: who chooses by keys finds the code's button next
    const lend = form.querySelector("[data-lend]");
    if (event.detail > 0 && chosen instanceof HTMLInputElement && chosen.name === "where" && chosen.value === "phone" &&
      lend instanceof HTMLButtonElement) form.requestSubmit(lend);
  });
  form.addEventListener("change", () => { if ("one" in form.dataset && now() < 0) show(steps().length - 1); });
  form.addEventListener("click", (event) => {
    const chosen = event.target;
    const at = now();
    if (!(chosen instanceof HTMLInputElement) || !chosen.name.startsWith("mark") || !("one" in form.dataset)) return;
    // a press, not the arrow keys: who chooses by keys looks at each mark before going on
    if (event.detail > 0 && steps()[at]?.contains(chosen)) show(at + 1);
  });
  form.addEventListener("keydown", (event) => {
    const chosen = event.target;
    if (event.key !== "Enter" || !(chosen instanceof HTMLInputElement) || !chosen.name.startsWith("mark")) return;
    event.preventDefault();
    if (chosen.checked) show(now() + 1);
  });
  onPress(form, "[data-back]", () => show(Math.max(0, now() - 1)));
  onPress(form, "[data-all]", () => { delete form.dataset["one"]; });
}

/** A photo goes at once when it is taken, smaller than it came; without this script it goes with the form. @param {HTMLFormElement} form */
function wirePhotos(form) {
  for (const go of every(form, "[data-photo-go]")) go.hidden = true;
  form.addEventListener("change", (event) => {
    const input = event.target;
    const file = input instanceof HTMLInputElement && input.matches("[data-photo]") ? input.files?.[0] : undefined;
    if (input instanceof HTMLInputElement && file) void showPhoto(form, input, file);
  });
}

/** @param {HTMLFormElement} form @param {HTMLInputElement} input @param {File} file */
async function showPhoto(form, input, file) {
  const place = /** @type {HTMLElement} */ (input.closest("[data-photo-of]"));
  const says = one(place, "[data-photo-says]");
  const field = /** @type {HTMLInputElement} */ (one(place, "input[type=hidden]"));
  const token = /** @type {HTMLInputElement} */ (form.elements.namedItem("csrf_token")).value;
  says.textContent = says.dataset["busy"] ?? "";
  try {
    const told = await sendPhoto(document, form.dataset["photos"] ?? "", token, file);
    says.textContent = told.big ? says.dataset["big"] ?? "" : told.problem ?? "";
    if (!told.photo) return;
    field.value = told.photo;
    input.value = "";
    form.requestSubmit(/** @type {HTMLButtonElement} */ (one(place, "[data-photo-go]")));
  } catch {
    says.textContent = says.dataset["away"] ?? "";
  }
}
