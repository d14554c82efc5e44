// The texts that scripts show, by key, from the same catalogue as the pages.

/** @typedef {(key: string, values?: Record<string, string | number>) => string} T */

/** @type {Promise<T> | null} */
let loading = null;

/** @param {Record<string, string>} texts @returns {T} */
export function translator(texts) {
  return (key, values = {}) => {
    const few = "n" in values && `${key}.other` in texts;
    const one = few && Number(values["n"]) === 1 && `${key}.one` in texts;
    const text = texts[few ? `${key}.${one ? "one" : "other"}` : key];
    if (text === undefined) throw new Error(`no text ${key}`);
    return text.replace(/\{(\w+)\}/g, (whole, name) => (name in values ? String(values[name]) : whole));
  };
}

/** Loads the texts of this pack, once a page. @returns {Promise<T>} */
export function loadStrings() {
  loading ??= fetch("data/strings.json").then((response) => response.json()).then(translator);
  return loading;
}
