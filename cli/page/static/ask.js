/** What the server is asked, and the news that it tells. */

import { words } from "./words.js";

/** An answer that is a refusal, in a sentence. */
export class Refused extends Error {
  /** @param {string} text @param {number} status */
  constructor(text, status) {
    super(text);
    this.status = status;
  }
}

/**
 * @param {string} path
 * @param {Record<string, any> | null} body null asks without changing anything
 * @returns {Promise<any>}
 */
export async function ask(path, body = null) {
  const how = body === null ? {} : {
    method: "POST",
    body: JSON.stringify(body),
    headers: { "Content-Type": "application/json" },
  };
  return answered(path, how);
}

/** Send a file as it is.
 * @param {string} path @param {File} file */
export const send = (path, file) => answered(path, { method: "POST", body: file });

/** @param {string} path @param {RequestInit} how @returns {Promise<any>} */
async function answered(path, how) {
  let answer;
  try {
    answer = await fetch(path, how);
  } catch {
    throw new Refused(words.lost, 0);
  }
  const text = await answer.text();
  let data = null;
  try {
    data = JSON.parse(text);
  } catch { /* a refusal of the guard is plain text */ }
  if (!answer.ok) throw new Refused(data?.trouble ?? text, answer.status);
  return data;
}

/**
 * Hear news while the page is looked at: a browser holds few connections to one server, so a
 * page in the background lets go of its own.
 * @param {(what: string) => void} heard
 * @param {(there: boolean) => void} connected
 */
export function hear(heard, connected) {
  /** @type {EventSource | null} */
  let source = null;
  const begin = () => {
    if (document.hidden || source) return;
    source = new EventSource("/news");
    source.onopen = () => { connected(true); heard("all"); };
    source.onerror = () => connected(false);
    source.onmessage = (event) => heard(JSON.parse(event.data).what);
  };
  const end = () => { source?.close(); source = null; };
  document.addEventListener("visibilitychange", () => (document.hidden ? end() : begin()));
  addEventListener("pagehide", end);
  addEventListener("pageshow", begin);
  begin();
}
