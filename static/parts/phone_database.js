// The phone's own database of one client: opening it, one strict transaction at a time, and what to do when it fails.

/**
 * @typedef {object} LogStore
 * @property {string} handle
 * @property {IDBDatabase | null} connection
 */

/** @typedef {"empty" | "full" | "blocked" | "broken"} Reason */

/** Hears of trouble with the phone's storage and of what changed in it. */
export const storeEvents = new EventTarget();

/** A failure of the phone's storage that a person has to be told about. */
export class StoreTrouble extends Error {
  /** @param {Reason} reason @param {unknown} [cause] */
  constructor(reason, cause) {
    super(`the phone's storage: ${reason}`, { cause });
    this.name = "StoreTrouble";
    this.reason = reason;
  }
}

const STORES = /** @type {const} */ ([["meta", "name"], ["records", "seq"], ["draft", "id"]]);
const LOST = new Set(["InvalidStateError", "AbortError", "UnknownError", "TransactionInactiveError"]);

/** @param {string} handle */
const databaseName = (handle) => `wattlebird-${handle}`;

/** @param {IDBDatabase} connection */
function makeStores(connection) {
  for (const [name, keyPath] of STORES) connection.createObjectStore(name, { keyPath });
}

/**
 * @param {string} handle @param {boolean} create
 * @returns {Promise<IDBDatabase>}
 */
function connect(handle, create) {
  return new Promise((resolve, reject) => {
    const opening = indexedDB.open(databaseName(handle), 1);
    opening.onupgradeneeded = () => {
      if (create) makeStores(opening.result);
      else {
        opening.onerror = () => reject(new StoreTrouble("empty"));
        opening.transaction?.abort();
      }
    };
    opening.onblocked = () => reject(new StoreTrouble("blocked"));
    opening.onerror = () => reject(troubleOf(opening.error));
    opening.onsuccess = () => resolve(opening.result);
  });
}

/** @param {unknown} error */
function troubleOf(error) {
  if (error instanceof StoreTrouble) return error;
  return new StoreTrouble(error instanceof DOMException && error.name === "QuotaExceededError" ? "full" : "broken", error);
}

/** @param {LogStore} store @param {boolean} create */
async function connection(store, create = false) {
  if (store.connection) return store.connection;
  const opened = await connect(store.handle, create);
  opened.onclose = () => { store.connection = null; };
  opened.onversionchange = () => { opened.close(); store.connection = null; };
  store.connection = opened;
  return opened;
}

/**
 * Opens the store of a handle; without `create` a phone that has none throws `StoreTrouble("empty")`.
 * @param {string} handle @returns {Promise<LogStore>}
 */
export async function openDatabase(handle, create = false) {
  /** @type {LogStore} */
  const store = { handle, connection: null };
  await connection(store, create);
  return store;
}

/**
 * @template T
 * @param {LogStore} store @param {string[]} names @param {IDBTransactionMode} mode @param {(tx: IDBTransaction) => () => T} work
 * @returns {Promise<T>}
 */
async function attempt(store, names, mode, work) {
  const open = await connection(store);
  return new Promise((resolve, reject) => {
    const tx = open.transaction(names, mode, { durability: "strict" });
    /** @type {() => T} */
    let result;
    tx.oncomplete = () => resolve(result());
    tx.onabort = () => reject(tx.error ?? new DOMException("the connection was lost", "AbortError"));
    try {
      result = work(tx);
    } catch (error) {
      tx.abort();
      reject(error);
    }
  });
}

/**
 * Runs one transaction. `work` puts its requests and gives a function that reads their results once all is on the disk.
 * A lost connection is opened again and the work tried once more: an aborted transaction has left nothing behind.
 * @template T
 * @param {LogStore} store @param {string[]} names @param {IDBTransactionMode} mode @param {(tx: IDBTransaction) => () => T} work
 * @returns {Promise<T>}
 */
export async function transact(store, names, mode, work) {
  try {
    return await attempt(store, names, mode, work);
  } catch (first) {
    if (!(first instanceof DOMException && LOST.has(first.name))) throw troubled(first);
    store.connection?.close();
    store.connection = null;
    return attempt(store, names, mode, work).catch((second) => { throw troubled(second); });
  }
}

/** @param {unknown} error */
function troubled(error) {
  if (!(error instanceof DOMException) && !(error instanceof StoreTrouble)) return error;
  const trouble = troubleOf(error);
  storeEvents.dispatchEvent(new CustomEvent("trouble", { detail: { reason: trouble.reason } }));
  return trouble;
}
