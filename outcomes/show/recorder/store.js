/**
 * Where visits are kept: a database of the browser on this device. Every change is one transaction, which reads
 * what is there, changes it and is on the disk before anybody is told that it's saved. So a flat battery loses
 * nothing that was shown as saved, and two windows can't overwrite each other.
 */

import { Refused } from "./visit.js";

const NAME = "visit recorder";
const PLACES = { visits: "code", washes: "key", rows: "code", device: "name" };
const LAYOUT = 2; // one more whenever there are other places
const PATIENCE = 8000; // ms after which a storage that says nothing is called silent

/** A storage that neither opens nor says why. */
export class Silent extends Error {}

/**
 * Open the database, made where it isn't there.
 * @returns {Promise<IDBDatabase>} Rejected where the browser keeps nothing for this page, or says nothing for long.
 */
export function openStore() {
  return new Promise((resolve, reject) => {
    const silence = setTimeout(() => reject(new Silent("no answer")), PATIENCE);
    const settled = (done) => (value) => {
      clearTimeout(silence);
      done(value);
    };
    const [opened, failed] = [settled(resolve), settled(reject)];
    const request = indexedDB.open(NAME, LAYOUT);
    request.addEventListener("upgradeneeded", () => {
      const has = request.result.objectStoreNames;
      for (const [place, keyPath] of Object.entries(PLACES)) {
        if (!has.contains(place)) request.result.createObjectStore(place, { keyPath });
      }
    });
    request.addEventListener("success", () => {
      // a newer page may want to lay the database out anew
      request.result.addEventListener("versionchange", () => request.result.close());
      opened(request.result);
    });
    request.addEventListener("error", () => failed(request.error));
    request.addEventListener("blocked", () => failed(new Silent("another window holds the records")));
  });
}

/**
 * @typedef {Object} Places What a transaction can do; each gives a promise.
 * @property {function(string, string): Promise<?Object>} get Of a place, by key.
 * @property {function(string): Promise<Object[]>} all Of a place, in order of keys.
 * @property {function(string, Object): Promise<void>} add To a place; fails where its key is taken.
 * @property {function(string, Object): Promise<void>} put In a place.
 * @property {function(string, string): Promise<void>} drop From a place, by key.
 */

/**
 * Do something in one transaction: all of it is kept, or nothing.
 * @template T
 * @param {IDBDatabase} db
 * @param {function(Places): Promise<T>} work Awaits nothing but what `Places` gives.
 * @returns {Promise<T>} Settled when it's on the disk; rejected where it isn't kept.
 */
export function together(db, work) {
  return new Promise((resolve, reject) => {
    const transaction = db.transaction(Object.keys(PLACES), "readwrite", { durability: "strict" });
    let result;
    let failure = null;
    transaction.addEventListener("complete", () => resolve(result));
    transaction.addEventListener("abort", () => reject(failure ?? transaction.error ?? new Error("stopped")));
    const stop = (error) => {
      failure = error;
      try {
        transaction.abort();
      } catch {
        reject(error); // it was over already
      }
    };
    // what throws at once is to stop the transaction as well
    (async () => {
      result = await work(placesOf(transaction));
    })().catch(stop);
  });
}

function placesOf(transaction) {
  const at = (place) => transaction.objectStore(place);
  return {
    get: (place, key) => given(at(place).get(key)),
    all: (place) => given(at(place).getAll()),
    add: (place, value) => given(at(place).add(value)),
    put: (place, value) => given(at(place).put(value)),
    drop: (place, key) => given(at(place).delete(key)),
  };
}

function given(request) {
  return new Promise((resolve, reject) => {
    request.addEventListener("success", () => resolve(request.result ?? null));
    request.addEventListener("error", () => reject(request.error));
  });
}

/**
 * Why something wasn't kept, and what to do.
 * @param {Error} error
 * @returns {string}
 */
export function keptNot(error) {
  if (error instanceof Refused) return error.message;
  if (error?.name === "QuotaExceededError") return "this device's storage is full; make room on it, then tap again";
  return `the browser didn't keep it (${error?.name ?? "unknown"}); write it on paper, then load this page again`;
}

/**
 * Ask the browser not to clear this away when it needs room.
 * @returns {Promise<boolean>} Whether it promised.
 */
export async function askToKeep() {
  try {
    return (await navigator.storage?.persist?.()) ?? false;
  } catch {
    return false;
  }
}
