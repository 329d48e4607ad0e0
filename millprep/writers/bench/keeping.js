"use strict";
// Where ticks are kept: twice. Local storage answers at once, but comes to the disk some seconds after
// a tick; a data base that is asked for strict durability is there within a moment. Either may be
// forbidden: then null, false or nothing is the answer, and never an error.
const keeping = (() => {
  function read(name) {
    try {
      const found = JSON.parse(localStorage.getItem(name));
      return found && Array.isArray(found.done) ? found : null;
    } catch {
      return null;
    }
  }

  function write(name, record) {
    try {
      localStorage.setItem(name, JSON.stringify(record));
      return localStorage.getItem(name) !== null;
    } catch {
      return false;
    }
  }

  function names(shelf) {
    try {
      return Object.keys(localStorage).filter((name) => name.startsWith(shelf));
    } catch {
      return [];
    }
  }

  function openBase() {
    return new Promise((answer) => {
      try {
        const asked = indexedDB.open("millprep bench", 1);
        asked.onupgradeneeded = () => asked.result.createObjectStore("pages");
        asked.onsuccess = () => answer(asked.result);
        asked.onerror = asked.onblocked = () => answer(null);
      } catch {
        answer(null);
      }
    });
  }

  function readBase(base, name) {
    return new Promise((answer) => {
      const asked = base.transaction("pages").objectStore("pages").get(name);
      asked.onsuccess = () => answer(asked.result);
      asked.onerror = () => answer(undefined);
    });
  }

  // Committed at once: what waits for its own answer is dropped when the page is left before that.
  function writeInBase(base, name, record) {
    try {
      const writing = base.transaction("pages", "readwrite", { durability: "strict" });
      writing.objectStore("pages").put(structuredClone(record), name);
      writing.commit?.();
      return true;
    } catch {
      return false;
    }
  }

  return { read, write, names, openBase, readBase, writeInBase };
})();
