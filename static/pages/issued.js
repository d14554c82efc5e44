/** The issued plan: follows the making of the phone's part, and prints the sheet. */

const EVERY_MS = 800;
const place = document.querySelector("[data-progress-at]");

/** @param {Element} there */
async function follow(there) {
  const state = there.querySelector("[data-progress]")?.getAttribute("data-progress");
  if (state !== "waiting" && state !== "running") return;
  try {
    const answer = await fetch(there.getAttribute("data-progress-at") ?? "");
    if (answer.ok) {
      const told = await answer.text();
      if (told !== there.innerHTML) there.innerHTML = told;
    }
  } catch { /* away: ask again */ }
  window.setTimeout(() => void follow(there), EVERY_MS);
}

if (place) void follow(place);
document.querySelector("[data-print]")?.addEventListener("click", () => window.print());
