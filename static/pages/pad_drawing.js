/** Pads on a limb's drawing: dragged, put down by a press elsewhere, or moved by arrow keys; sizes and shapes follow their fields. */

const STEP_MM = 5;
const FINE_MM = 1; // with Shift
const SVG = "http://www.w3.org/2000/svg";
const ARROWS = /** @type {Record<string, [number, number]>} */ ({ ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] });

/** @param {SVGSVGElement} drawing @param {MouseEvent} event */
function placeOf(drawing, event) {
  const matrix = drawing.getScreenCTM();
  const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix?.inverse());
  return { x: at.x, y: at.y };
}

/** @param {SVGGElement} pad */
function shownAt(pad) {
  const [x, y] = (pad.getAttribute("transform") ?? "").match(/-?[\d.]+/g) ?? ["0", "0"];
  return { x: Number(x), y: Number(y) };
}

/**
 * Lets the pads of every drawing in a form be moved; works on drawings that come later, too.
 * @param {HTMLFormElement} form
 * @param {() => void} moved called when a pad came to rest
 */
export function watchDrawings(form, moved) {
  /** @type {SVGGElement | null} */
  let dragged = null;
  let away = { x: 0, y: 0 };

  /** @param {SVGGElement} pad @param {string} field @param {string} value */
  function setField(pad, field, value) {
    const ch = pad.closest("[data-drawing]")?.getAttribute("data-drawing") ?? "";
    const name = `${ch.split(".")[0]}.${pad.dataset.pad}.${field}`;
    const input = form.elements.namedItem(name);
    if (input instanceof HTMLInputElement) input.value = value;
  }

  /** Puts a pad down on its drawing, inside its edges; the plan keeps places of a right limb. @param {SVGGElement} pad @param {number} x @param {number} y */
  function put(pad, x, y) {
    const drawing = /** @type {SVGSVGElement} */ (pad.closest("svg[data-view]"));
    const box = drawing.viewBox.baseVal;
    const at = { x: Math.round(Math.min(Math.max(x, box.x), box.x + box.width)), y: Math.round(Math.min(Math.max(y, box.y), box.y + box.height)) };
    const mirror = Number(drawing.dataset.mirror);
    pad.setAttribute("transform", `translate(${at.x} ${at.y})`);
    const [across, down] = (drawing.dataset.fields ?? "x_mm y_mm").split(" ");
    setField(pad, across ?? "", String(mirror ? mirror - at.x : at.x));
    setField(pad, down ?? "", String(at.y));
  }

  /** @param {SVGGElement} pad */
  function pick(pad) {
    for (const other of pad.ownerSVGElement?.querySelectorAll(".picked") ?? []) other.classList.remove("picked");
    pad.classList.add("picked");
  }

  form.addEventListener("pointerdown", (event) => {
    const target = /** @type {Element} */ (event.target);
    const pad = /** @type {SVGGElement | null} */ (target.closest("svg[data-view] [data-pad]"));
    if (!pad) return;
    const at = placeOf(/** @type {SVGSVGElement} */ (pad.closest("svg[data-view]")), event);
    const from = shownAt(pad);
    dragged = pad;
    away = { x: from.x - at.x, y: from.y - at.y };
    pick(pad);
    pad.setPointerCapture(event.pointerId);
  });
  // a click, not the press itself: a finger that scrolls the page over a drawing puts nothing down
  form.addEventListener("click", (event) => {
    const target = /** @type {Element} */ (event.target);
    const drawing = /** @type {SVGSVGElement | null} */ (target.closest("svg[data-view]"));
    const picked = /** @type {SVGGElement | null} */ (drawing?.querySelector(".picked"));
    if (!drawing || !picked || target.closest("[data-pad]")) return;
    const at = placeOf(drawing, event);
    put(picked, at.x, at.y);
    moved();
  });
  form.addEventListener("pointermove", (event) => {
    if (!dragged) return;
    const at = placeOf(/** @type {SVGSVGElement} */ (dragged.closest("svg[data-view]")), event);
    put(dragged, at.x + away.x, at.y + away.y);
  });
  for (const end of /** @type {const} */ (["pointerup", "pointercancel"])) {
    form.addEventListener(end, () => { if (dragged) { dragged = null; moved(); } });
  }
  form.addEventListener("keydown", (event) => {
    const pad = /** @type {SVGGElement | null} */ (/** @type {Element} */ (event.target).closest("[data-pad]"));
    const way = ARROWS[event.key];
    if (!pad || !way) return;
    event.preventDefault();
    const from = shownAt(pad);
    const step = event.shiftKey ? FINE_MM : STEP_MM;
    put(pad, from.x + way[0] * step, from.y + way[1] * step);
    moved();
  });
  form.addEventListener("input", (event) => resize(/** @type {HTMLElement} */ (event.target)));
}

/** Draws a pad anew when its size or shape was changed. @param {HTMLElement} field */
function resize(field) {
  const fields = field.closest("[data-pad-fields]");
  const name = fields?.getAttribute("data-pad-fields");
  const pad = field.closest(".channel")?.querySelector(`svg:not(.photo) [data-pad="${name}"]`);
  if (!fields || !pad) return;
  /** @param {string} of */
  const value = (of) => /** @type {HTMLInputElement} */ (fields.querySelector(`[name$=".${of}"]`)).value;
  const [width, height] = ["width_cm", "height_cm"].map((of) => Number(value(of).replace(",", ".")) * 10);
  if (!width || !height || width < 0 || height < 0) return;
  const round = value("shape") === "round";
  const shape = document.createElementNS(SVG, round ? "ellipse" : "rect");
  const sizes = round ? { rx: width / 2, ry: height / 2 } : { x: -width / 2, y: -height / 2, width, height, rx: 6 };
  for (const [key, size] of Object.entries(sizes)) shape.setAttribute(key, String(size));
  pad.querySelector("rect, ellipse")?.replaceWith(shape);
}
