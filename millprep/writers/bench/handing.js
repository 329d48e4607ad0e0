"use strict";
// Ticks between this page and the PC that serves it. Each is numbered here and kept in the browser's
// store until the PC has it; it may be sent twice and counts once. Nothing here needs a page that
// came encrypted: no worker, no lock of the screen, no random ids of the browser's.
const handing = (() => {
  const find = (id) => document.getElementById(id);
  const ASK_MS = 1000;
  const HIDDEN_MS = 10000;
  const ANSWER_MS = 8000;
  const MOST = 500;
  const issue = find("page-mark").content.split(" ").pop();
  const shelf = `millprep handing ${location.pathname} `;
  // only to keep two pages of one phone apart, and in the order in which they were opened
  const page = `${Date.now().toString(36)}-${Math.random().toString(36).slice(2, 10)}`;
  const keyOf = (item) => `${shelf}${item.page} ${String(item.n).padStart(6, "0")}`;

  let waiting = left();  // what the PC may not have, in order
  let theirs = null;     // what the PC had when it last answered: the names by piece
  let seen = {};         // what the page shows
  let count = 0;
  let isReached = true;
  let refusal = "";
  let newer = null;
  let tookIn = () => {};
  let wake = () => {};

  // What an earlier page of this phone had not got through.
  function left() {
    try {
      const keys = Object.keys(localStorage).filter((key) => key.startsWith(shelf)).sort();
      return keys.map((key) => JSON.parse(localStorage.getItem(key))).filter((item) => item && item.page && item.n);
    } catch {
      return [];
    }
  }

  function keep(item) {
    waiting.push(item);
    try { localStorage.setItem(keyOf(item), JSON.stringify(item)); } catch { /* it is in the page */ }
  }

  function drop(heard) {
    const isHeard = (item) => item.n <= (heard[item.page] ?? 0);
    for (const item of waiting.filter(isHeard)) {
      try { localStorage.removeItem(keyOf(item)); } catch { /* nor is it there */ }
    }
    waiting = waiting.filter((item) => !isHeard(item));
  }

  // What the PC has, with what it is still to hear.
  function together() {
    const all = Object.fromEntries(Object.entries(theirs).map(([piece, names]) => [piece, [...names]]));
    for (const { issue: of, piece, name, done } of waiting) {
      if (of !== issue) continue;
      all[piece] = (all[piece] ?? []).filter((one) => one !== name);
      if (done) all[piece].push(name);
    }
    return all;
  }

  // What was ticked or taken back since.
  function put(all, called) {
    const before = waiting.length;
    for (const one of Object.keys(all)) {
      const had = seen[one] ?? [];
      const changed = [
        ...had.filter((name) => !all[one].includes(name)).map((name) => [name, 0]),
        ...all[one].filter((name) => !had.includes(name)).map((name) => [name, 1]),
      ];
      for (const [name, done] of changed) {
        const said = `${done ? "" : "taken back: "}${Object.keys(all).length > 1 ? `piece ${one}, ` : ""}${called(name)}`;
        keep({ issue, page, n: ++count, piece: Number(one), name, done, said });
      }
      seen[one] = [...all[one]];
    }
    if (waiting.length > before) wake();
    show();
  }

  async function ask(take = "") {
    const ending = new AbortController();
    const timer = setTimeout(() => ending.abort(), ANSWER_MS);
    try {
      const ticks = waiting.slice(0, MOST).map(({ issue: of, page: from, n, piece, name, done }) => ({ issue: of, page: from, n, piece, name, done }));
      const answer = await fetch("ticks", {
        method: "POST", headers: { "Content-Type": "application/json" }, signal: ending.signal,
        body: JSON.stringify({ issue, ticks, take }),
      });
      const said = await answer.json();
      isReached = true;
      refusal = answer.ok ? "" : said.said ?? "the PC does not take them";
      if (answer.ok) heard(said);
      return answer.ok && said.taken;
    } catch {
      isReached = false;
      return false;
    } finally {
      clearTimeout(timer);
      show();
    }
  }

  function heard(said) {
    drop(said.heard);
    theirs = said.ticks;
    newer = said.newer;
    const all = together();
    const isSame = JSON.stringify(sorted(all)) === JSON.stringify(sorted(seen));
    if (!isSame || isFirst) tookIn(all, said.piece);
    if (!isSame) seen = all;
    isFirst = false;
  }
  let isFirst = true;
  const sorted = (all) => Object.entries(all).filter(([, names]) => names.length).map(([piece, names]) => [piece, [...names].sort()]);

  // ---- what is said of it
  const words = (n) => `${n} ${n === 1 ? "tick is" : "ticks are"} not with the PC yet`;
  function show() {
    const isTold = refusal !== "" || (!isReached && waiting.length > 0);
    if (find("waiting").hidden === isTold) {
      find("waiting").hidden = !isTold;
      dispatchEvent(new Event("resize"));  // the figures want what room there is
    }
    find("waiting-words").textContent = waiting.length ? words(waiting.length) : "The PC takes no ticks of this phone.";
    find("waiting-why").textContent = refusal || "The PC is not reached: it is off or asleep, or this phone is not in its network.";
    const list = waiting.map((item) => item.said).join("\n");
    if (find("waiting-list").value !== list) find("waiting-list").value = list;
    showNewer();
  }

  function showNewer() {
    const isTold = newer !== null;
    if (find("newer").hidden === isTold) {
      find("newer").hidden = !isTold;
      dispatchEvent(new Event("resize"));
    }
    if (!isTold) return;
    find("newer-why").textContent = newer.said;
    find("newer-take").hidden = !newer.issue;
    if (find("newer-list").dataset.of === JSON.stringify(newer.spoils)) return;
    find("newer-list").dataset.of = JSON.stringify(newer.spoils);
    find("newer-list").replaceChildren(...newer.spoils.map((line) => Object.assign(document.createElement("li"), { textContent: line })));
  }

  // ---- the round
  const woken = (ms) => new Promise((go) => {
    const timer = setTimeout(go, ms);
    wake = () => { clearTimeout(timer); go(); };
  });
  async function round() {
    for (;;) {
      const asked = waiting.length;
      await ask();
      if (isReached && !refusal && waiting.length && waiting.length !== asked) continue;
      await woken(document.hidden || refusal ? HIDDEN_MS : ASK_MS);
    }
  }

  function begin(takeIn, ticks) {
    tookIn = takeIn;
    seen = Object.fromEntries(Object.entries(ticks).map(([piece, names]) => [piece, [...names]]));
    addEventListener("online", () => wake());
    addEventListener("visibilitychange", () => wake());
    find("waiting-mark").addEventListener("click", () => { find("waiting-list").focus(); find("waiting-list").select(); });
    find("newer-take").addEventListener("click", async () => {
      find("newer-take").disabled = true;
      if (await ask(newer.issue)) location.reload();
      else find("newer-take").disabled = false;
    });
    round();
  }

  return { put, begin };
})();
