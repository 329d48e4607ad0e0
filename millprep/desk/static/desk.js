"use strict";
// What every page of the desk has: changes sent so that none is lost, what changed elsewhere told to
// the page, a file dropped, the desk put away.
const desk = (() => {
  const byId = (id) => document.getElementById(id);
  const meta = (name) => document.querySelector(`meta[name="${name}"]`).content;
  const folder = meta("desk-folder");
  const page = crypto.randomUUID();
  const locker = `unsent ${folder} `;
  const others = new BroadcastChannel(`desk ${folder}`);
  const ours = (sent) => ({ "Content-Type": "application/json", "X-Millprep": "desk", "X-Sent": sent });
  const waiting = [];
  let count = 0, ended = false, numbers = JSON.parse(meta("desk-numbers"));

  // ---- what is said in one line, at the top of the page ----
  function say(words, kind = "") {
    const line = byId("said");
    if (line.textContent !== words) line.textContent = words;
    line.dataset.kind = kind;
  }
  const asleep = () => say("The desk is asleep. What you type is kept here, and put down when it wakes. "
    + "If it was put away: start it again.", "asleep");
  const away = () => say("This page belongs to a desk that was put away. What you typed is kept here: "
    + "start the desk again.", "asleep");
  const awake = () => { if (byId("said").dataset.kind === "asleep") say(""); };
  const kept = (at) => { byId("kept").textContent = `Kept ${at} on this PC`; };

  // ---- changes: in their order, kept in the browser until the server has answered ----
  const pause = (ms) => new Promise((done) => setTimeout(done, ms));
  const put = (item) => { try { localStorage.setItem(item.key, JSON.stringify(item.sent)); } catch { /* full: it is in the page */ } };

  function send(method, url, json = {}) {
    const item = {
      key: `${locker}${page} ${String(count++).padStart(6, "0")}`,
      sent: { method, url, json: { ...json, sent: crypto.randomUUID() } },
    };
    put(item);
    return lined(item);
  }

  function lined(item) {
    return new Promise((done) => {
      waiting.push({ ...item, done });
      if (waiting.length === 1) goOn();
    });
  }

  async function goOn() {
    while (waiting.length && !ended) {
      const { key, sent, done } = waiting[0];
      const answer = await answered(sent);
      localStorage.removeItem(key);
      waiting.shift();
      if (answer.kept) kept(answer.kept);
      if (!answer.ok && answer.said) say(answer.said, "refused");
      else if (byId("said").dataset.kind === "refused") say("");
      done(answer);
    }
  }

  // The server's answer, however long it takes: {ok, status} and what its JSON says.
  async function answered({ method, url, json }) {
    for (let wait = 500; ; wait = Math.min(wait * 2, 8000)) {
      try {
        const body = JSON.stringify(json);
        // a small one is sent to its end even where the page is left meanwhile; no change is made twice
        const answer = await fetch(url, { method, headers: ours(json.sent), body, keepalive: body.length < 20000 });
        const said = await answer.json().catch(() => ({}));
        if (!said.put_away || answer.ok) { awake(); return { ...said, ok: answer.ok, status: answer.status }; }
        away();
      } catch { asleep(); }
      await Promise.race([pause(wait), new Promise((woken) => addEventListener("desk-awake", woken, { once: true }))]);
    }
  }

  // What a page that is gone had not got through: a killed browser's, or of a tab that was closed.
  async function takeOver() {
    await new Promise((held) => navigator.locks.request(locker + page, () => { held(); return new Promise(() => {}); }));
    await navigator.locks.request(`${locker}taking over`, async () => {
      const open = new Set((await navigator.locks.query()).held.map((lock) => lock.name));
      const left = Object.keys(localStorage).filter((key) => key.startsWith(locker)).sort();
      const gone = left.filter((key) => !open.has(key.slice(0, key.lastIndexOf(" "))));
      for (const old of gone) {
        const item = { key: `${locker}${page} ${String(count++).padStart(6, "0")}`, sent: JSON.parse(localStorage.getItem(old)) };
        put(item);
        localStorage.removeItem(old);
        lined(item).then((answer) => tell("desk-resent", { ...item.sent, answer }));
      }
    });
  }

  // ---- what changed: fragments listen with hx-trigger="changed from:body" or "changed-ID from:body" ----
  const tell = (name, detail) => document.body.dispatchEvent(new CustomEvent(name, { detail, bubbles: true }));

  async function look() {
    if (ended || document.hidden) return;
    try {
      const answer = await fetch("/now", { headers: { "HX-Request": "true" } });
      if (answer.status === 410) { away(); return; }
      const now = await answer.json();
      if (now.folder !== folder) { location.replace("/"); return; }
      awake();
      dispatchEvent(new Event("desk-awake"));
      const changed = Object.keys(now.numbers).filter((id) => now.numbers[id] !== numbers[id]);
      numbers = now.numbers;
      for (const id of changed) tell(`changed-${id}`, { id });
      if (changed.length) tell("changed", { ids: changed });
    } catch { asleep(); }
  }
  async function watch() {
    for (;;) { await look(); await pause(byId("said").dataset.kind === "asleep" ? 3000 : 1000); }
  }

  // ---- the end ----
  function end() {
    ended = true;
    say("");
    document.querySelector("main").replaceChildren(byId("ended").content.cloneNode(true));
    document.body.classList.add("ended");
    document.querySelector("main h1").focus();
  }

  // ---- a program dropped anywhere on the page, or chosen ----
  async function take(file) {
    if (!file) return;
    say(`${file.name} is read ...`);
    try {
      const answer = await fetch(`/dry-run?name=${encodeURIComponent(file.name)}`,
        { method: "PUT", headers: { "Content-Type": "application/octet-stream", "X-Millprep": "desk" }, body: file });
      const said = await answer.json().catch(() => ({}));
      if (answer.ok && said.go) location.assign(said.go);
      else say(said.said ?? "That file could not be taken.", "refused");
    } catch { asleep(); }
  }

  addEventListener("dragover", (event) => {
    if (!event.dataTransfer?.types.includes("Files")) return;
    event.preventDefault();
    document.body.classList.add("dropping");
  });
  addEventListener("dragleave", (event) => { if (!event.relatedTarget) document.body.classList.remove("dropping"); });
  addEventListener("drop", (event) => {
    if (!event.dataTransfer?.files.length) return;
    event.preventDefault();
    document.body.classList.remove("dropping");
    take(event.dataTransfer.files[0]);
  });
  addEventListener("change", (event) => { if (event.target.id === "program-file") take(event.target.files[0]); });
  addEventListener("visibilitychange", look);
  addEventListener("click", async (event) => {
    const pressed = event.target.closest("[data-send]");
    if (!pressed) return;
    // a button that sends what it carries: data-send="PUT /folder" data-json='{"folder": "..."}'
    const [method, url] = pressed.dataset.send.split(" ");
    const answer = await send(method, url, JSON.parse(pressed.dataset.json ?? "{}"));
    if (answer.put_away && answer.ok) { others.postMessage("put away"); end(); }
    else if (answer.ok) {
      if (answer.moves) say("The desk moves to that folder ...");
      else if (answer.go) location.assign(answer.go);
      else pressed.closest(".slip")?.remove();
      tell("desk-sent", { from: pressed, answer });
    }
  });
  others.addEventListener("message", (event) => { if (event.data === "put away") end(); });
  document.addEventListener("htmx:configRequest", (event) => { event.detail.headers["X-Millprep"] = "desk"; });
  document.addEventListener("htmx:sendError", asleep);
  document.addEventListener("htmx:responseError", (event) => {
    if (event.detail.xhr.status === 410) { away(); return; }
    try { say(JSON.parse(event.detail.xhr.responseText).said, "refused"); } catch { /* not ours to tell */ }
  });

  takeOver();
  watch();
  return { send, say, kept, tell };
})();
