// Where this page stands: whose phone address it is under, and whether in the plan that waits.

const PREVIEW = /^\/clinic\/clients\/(\d+)\/preview\/([^/]*)/;
const PLACE = /^\/my\/([a-z2-7]{16})\/(next\/)?([^/]*)/;

/** Gives the handle in this page's address; "" outside a phone's own pages. */
export function handle() {
  return PLACE.exec(location.pathname)?.[1] ?? previewHandle();
}

/** Gives what stands for a handle where a therapist looks at a draft as the client will see it; "" on a phone. */
export function previewHandle() {
  const client = PREVIEW.exec(location.pathname)?.[1];
  return client ? `preview-${client}` : "";
}

/** Tells whether this page belongs to the plan that waits, not to the one in use. */
export function inPending() {
  return PLACE.exec(location.pathname)?.[2] === "next/";
}

/** Gives this page's name, such as `timer-1`. */
export function pageName() {
  return PLACE.exec(location.pathname)?.[3] || PREVIEW.exec(location.pathname)?.[2] || "today";
}

/** Gives the address of this phone's own pages; links inside a plan stay relative. */
export function root(whose = handle()) {
  return whose.startsWith("preview-") ? `/clinic/clients/${whose.slice("preview-".length)}/preview/` : `/my/${whose}/`;
}
