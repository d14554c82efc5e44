/** The store of a preview: made anew each time a draft is looked at, kept in this browser only, and carried nowhere. */
import { openDatabase, transact } from "./phone_database.js";
import { previewHandle } from "./place.js";

const NOBODY = "0000000000000000";

/** Makes the store where there is none; `?fresh` in the address begins with an empty one. */
export async function preparePreview() {
  const handle = previewHandle();
  if (new URLSearchParams(location.search).has("fresh")) await forgetPreview(handle);
  const db = await openDatabase(handle, true);
  await transact(db, ["meta"], "readwrite", (tx) => {
    const meta = tx.objectStore("meta");
    for (const [name, value] of Object.entries({ device: NOBODY, handle, sound_ok: { voice: "both" } })) meta.put({ name, value });
    return () => undefined;
  });
  db.connection?.close();
}

/** @param {string} handle @returns {Promise<void>} */
function forgetPreview(handle) {
  return new Promise((done) => {
    const asked = indexedDB.deleteDatabase(`wattlebird-${handle}`);
    asked.onsuccess = asked.onerror = asked.onblocked = () => {
      history.replaceState(null, "", location.pathname);
      done();
    };
  });
}
