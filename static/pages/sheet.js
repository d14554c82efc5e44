/** The printed sheet: prints, and puts over onto the back what the front has no room for. */

const FRONT_MM = 256; // what fits Letter, the shorter paper, at its margins
const PX_A_MM = 96 / 25.4;
const front = /** @type {HTMLElement | null} */ (document.querySelector(".front"));
const back = document.querySelector(".back");

/** @param {HTMLElement} page */
function isTooLong(page) {
  const { paddingTop, paddingBottom } = getComputedStyle(page);
  const inside = page.getBoundingClientRect().height - parseFloat(paddingTop) - parseFloat(paddingBottom);
  return inside > FRONT_MM * PX_A_MM + 1;
}

/** Puts over as little as will do: each part says how much it is missed on the front (1, 2, 4), and may be set closer. @param {HTMLElement} page @param {Element} over */
function fit(page, over) {
  const first = over.querySelector("header");
  const parts = [...page.querySelectorAll("[data-may-go-over]")].map((part) => {
    const mark = document.createComment("");
    part.before(mark);
    return { part, mark, missed: Number(part.getAttribute("data-may-go-over")) };
  });
  for (let gone = 0; gone < 8; gone += 1) {
    for (const { part, mark, missed } of parts) {
      if (gone & missed) over.insertBefore(part, first);
      else mark.after(part);
    }
    for (const close of [false, true]) {
      page.classList.toggle("close", close);
      if (!isTooLong(page)) return;
    }
  }
}

await document.fonts.ready;
if (front && back && matchMedia("(min-width: 45rem)").matches) { // narrower it is read, not printed
  fit(front, back);
  back.classList.toggle("close", back.scrollHeight > back.clientHeight + 1);
}
document.body.dataset.fitted = "yes";
document.querySelector("[data-print]")?.addEventListener("click", () => window.print());
