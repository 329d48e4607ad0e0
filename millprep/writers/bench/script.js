"use strict";
// Shows one card at a time and keeps the ticks. Every figure stands in the page already: nothing
// here reckons, and the switch between mm and inch only shows the other text.
(() => {
  const root = document.documentElement;
  const find = (id) => document.getElementById(id);
  const cards = [...document.querySelectorAll(".card")];
  const names = cards.map((card) => card.id);
  const rows = new Map([...document.querySelectorAll("[data-go]")].map((row) => [row.dataset.go, row]));
  const ofTool = (tool) => cards.filter((card) => card.dataset.tool === tool && card.dataset.hole);
  const steps = cards.filter((card) => card.classList.contains("step"));
  const setupOf = (card) => card.closest(".setup");
  const isEnd = (card) => card.classList.contains("done");
  // How a message calls a card: "oil hole (spot drill)", "Find zero".
  const called = (card) => {
    const operation = card.querySelector("[data-field=operation]");
    const title = card.querySelector("h2").textContent.trim().replace(/\s+/g, " ");
    return operation ? `${title} (${operation.textContent})` : title;
  };
  // How the list of all steps has it.
  const listed = (name) => `setup ${setupOf(find(name)).id.slice(5)}, ${rows.get(name).textContent.trim().replace(/\s+/g, " ")}`;
  const planOf = (setup) => find(setup.id.replace("setup", "plan"));

  // ---- what is kept: a record for each page, found again by part, part mark and page mark
  const shelf = `millprep bench ${JSON.stringify(root.dataset.part)} `;
  const key = `${shelf}${root.dataset.mark} ${find("page-mark").content.split(" ").pop()}`;
  // done : the ticks of the piece in hand, in their order; others : those of the other pieces
  // trail : of each tick the piece that it was made on
  const fresh = () => ({
    mark: root.dataset.mark, done: [], at: names[0], units: root.dataset.units, accepted: false,
    known: [], writes: 0, piece: 1, others: {}, trail: [],
  });
  const pieces = Number(root.dataset.pieces);
  const read = (name) => {
    const found = keeping.read(name);
    return found && { ...fresh(), ...found };
  };
  const otherPages = () => keeping.names(shelf).filter((name) => name !== key);
  const isFirstTime = read(key) === null;
  let hasHeard = false;
  let base = null;
  // Of a page that a PC serves: what is ticked goes there, and all that is ticked comes from there.
  const served = typeof handing === "undefined" ? null : handing;

  function write() {
    record.writes += 1;
    served?.put(allTicks(), listed);
    const isLocal = keeping.write(key, record);
    if (base && !keeping.writeInBase(base, key, record)) base = null;
    return isLocal || base !== null;
  }

  function fitting(found) {
    const at = names.includes(found.at) || found.at === "finish" ? found.at : names[0];
    const piece = Math.min(Math.max(found.piece ?? 1, 1), pieces);
    return { ...fresh(), ...found, done: found.done.filter((name) => names.includes(name)), at, piece };
  }

  let record = fitting(read(key) ?? fresh());

  // ---- showing
  const NAMED_AT_MOST = 6;
  const isDone = (name) => record.done.includes(name);
  const missing = (setup) => steps.filter((card) => !isDone(card.id) && (!setup || setupOf(card) === setup));
  const stepsOf = (count) => `${count} ${count === 1 ? "step" : "steps"}`;
  const here = () => (record.accepted ? find(record.at) : find("care"));

  function following(name) {
    const at = names.indexOf(name);
    const open = (one) => !isDone(one) && one !== name;
    // of a later piece setting up has no ticks: that is done once for all
    const left = (one) => open(one) && (pieces === 1 || find(one).classList.contains("step"));
    return names.slice(at + 1).find(open) ?? names.find(left) ?? "finish";
  }

  // The piece and the card after one that is ticked: what belongs together is done at each piece
  // in turn, and the last that was put in stays in for what comes next.
  function onward(name) {
    const run = find(name).dataset.together;
    if (pieces === 1 || !run) {
      const to = following(name);
      const isTurned = pieces > 1 && to !== "finish" && setupOf(find(to)) !== setupOf(find(name));
      return [isTurned ? 1 : record.piece, to];  // the next setup begins with the first piece
    }
    const own = cards.filter((card) => card.dataset.together === run);
    const openOf = (piece, some) => leftOn(piece, some).find((card) => piece !== record.piece || card.id !== name);
    const here = openOf(record.piece, own);
    if (here) return [record.piece, here.id];
    const isKept = run.endsWith("kept");
    const some = isKept ? own : own.filter((card) => steps.includes(card));
    const piece = turns().find((one) => openOf(one, own.filter((card) => steps.includes(card))));
    if (piece && piece !== record.piece) return [piece, openOf(piece, some).id];
    return [record.piece, following(own.at(-1).id)];
  }

  function show(speak = true) {
    const shown = here();
    const setup = shown.closest(".setup");
    for (const one of document.querySelectorAll(".shown")) one.classList.remove("shown");
    shown.classList.add("shown");
    root.classList.toggle("reading", !record.accepted);
    root.dataset.units = record.units;
    if (setup) {
      planOf(setup).classList.add("shown");
      (shown.querySelector(".slot") ?? document.querySelector("main")).append(planOf(setup));
    }
    find("where").textContent = setup ? setup.querySelector("h1 .which").textContent : "";
    const ticked = steps.filter((card) => isDone(card.id)).length;
    find("tally").textContent = `${ticked} of ${steps.length} steps`;
    find("piece").textContent = pieceWords();
    showPieces();
    find("bar").value = steps.length ? ticked / steps.length : 0;
    const isTicked = isDone(record.at);
    find("done").classList.toggle("ticked", isTicked);
    find("done-word").textContent = isTicked ? "Take tick back" : "Done";
    find("done").disabled = !isTicked && !mayTick(record.at);
    find("undo").disabled = !turns().some((piece) => ticksOf(piece).length);
    find("back").disabled = record.at === names[0];
    find("ahead").disabled = record.at === "finish";
    for (const [name, row] of rows) {
      row.classList.toggle("ticked", isDone(name));
      if (name === record.at) row.setAttribute("aria-current", "step");
      else row.removeAttribute("aria-current");
    }
    showBoxes(shown);
    showMissing(shown, setup);
    showNext();
    showPlan(shown, setup);
    fit();
    if (speak) find("spoken").textContent = [find("told").textContent, spoken(shown)].filter(Boolean).join(". ");
  }

  function showBoxes(card) {
    const line = card.querySelector(".boxes");
    if (!line) return;
    const inHand = ofTool(card.dataset.tool);
    line.replaceChildren(...(inHand.length > 20 ? [] : inHand).map((one) => {
      const box = document.createElement("i");
      box.classList.toggle("ticked", isDone(one.id));
      box.classList.toggle("now", one === card);
      return box;
    }));
  }

  // ---- pieces of a batch, with ticks for each
  const pieceWords = () => (pieces > 1 ? `piece ${record.piece} of ${pieces}` : "");
  const ticksOf = (piece) => (piece === record.piece ? record.done : record.others[piece] ?? []);
  const allTicks = () => Object.fromEntries(turns().map((piece) => [piece, ticksOf(piece)]));
  const leftOn = (piece, some) => some.filter((card) => !ticksOf(piece).includes(card.id));
  const stepsIn = (setup) => steps.filter((card) => !setup || setupOf(card) === setup);

  // The pieces in turn, this one last.
  const turns = () => Array.from({ length: pieces }, (_, at) => ((record.piece + at) % pieces) + 1);

  // The next that has something left to do in a setup, or at all.
  const nextPiece = (setup) => turns().find((piece) => leftOn(piece, stepsIn(setup)).length);

  function takeUp(piece) {
    record.others[record.piece] = record.done;
    record.done = ticksOf(piece);
    record.piece = piece;
  }

  function toPiece(piece, setup) {
    change(() => {
      takeUp(piece);
      const some = cards.filter((card) => !setup || setupOf(card) === setup);
      record.at = (some.find((card) => !record.done.includes(card.id)) ?? some[0]).id;
    }, pieceWords());
  }

  function showPieces() {
    for (const row of document.querySelectorAll("[data-piece]")) {
      const piece = Number(row.dataset.piece);
      row.querySelector("span").textContent = `${steps.length - leftOn(piece, steps).length} of ${stepsOf(steps.length)}`;
      row.classList.toggle("now", piece === record.piece);
    }
    for (const button of document.querySelectorAll(".next-piece")) {
      const setup = setupOf(button);
      const next = nextPiece(setup);
      button.hidden = pieces === 1 || !next;
      button.textContent = setup ? `This setup on piece ${next}` : `Next: piece ${next} of ${pieces}`;
    }
    find("another").hidden = Boolean(nextPiece(null));
  }

  // At the end of a setup, and of the part: what has no tick, or that nothing is left.
  function showMissing(card, setup) {
    const told = card.querySelector(".missing");
    if (!told) return;
    const left = missing(setup);
    const more = left.length - NAMED_AT_MOST;
    told.hidden = !left.length;
    card.querySelector(".complete").hidden = left.length > 0;
    if (!left.length) return;
    const named = left.slice(0, NAMED_AT_MOST).map(called).join(", ") + (more > 0 ? ` and ${more} more` : "");
    const has = left.length === 1 ? "has" : "have";
    told.querySelector("p").textContent = `${stepsOf(left.length)} of this ${setup ? "setup" : "part"} ${has} no tick: ${named}`;
    const first = told.querySelector("button");
    first.dataset.first = left[0].id;
    first.textContent = `Go to ${called(left[0])}`;
  }

  function showNext() {
    const [piece, name] = record.at === "finish" ? [record.piece] : onward(record.at);
    const next = name ? find(name) : null;
    const parts = next ? [...next.querySelectorAll("[data-peek]")].map((part) => part.cloneNode(true)) : [];
    if (next && next.id === "finish") parts.push("nothing: this is the last");
    if (piece !== record.piece) parts.unshift(`wipe the stop, put in piece ${piece}:`);
    find("next").replaceChildren(...(next ? ["Next: "] : []), ...parts.flatMap((part) => [part, " "]));
  }

  function showPlan(card, setup) {
    if (!setup) return;
    const plan = planOf(setup);
    const next = find(following(card.id));
    const inHand = ofTool(card.dataset.tool);
    for (const hole of plan.querySelectorAll(".hole")) hole.setAttribute("class", "hole");
    const mark = (one, word) => one.dataset.hole && find(one.dataset.hole).classList.add(word);
    for (const one of inHand) if (isDone(one.id)) mark(one, "made");
    mark(card, "now");
    if (next && next.closest(".setup") === setup) mark(next, "following");
    const name = card.dataset.hole ? `; now at ${card.querySelector("h2").textContent}` : "";
    const svg = plan.querySelector("svg");
    svg.setAttribute("aria-label", svg.getAttribute("aria-label").split(";")[0] + name);
  }

  // What a screen reader says: "-" before a figure in words, or it is passed over.
  function spoken(card) {
    const unseen = (part) => part.closest("[data-units]:not(html)")?.dataset.units;
    const texts = [...card.querySelectorAll("h2, p, dt, dd > span")]
      .filter((part) => (unseen(part) ?? record.units) === record.units)
      .map((part) => [...part.childNodes].filter((node) => (node.dataset?.units ?? record.units) === record.units)
        .map((node) => node.textContent).join(""));
    return texts.join(", ").replace(/\s+/g, " ").replace(/\u2212(?=\d)/g, "minus ");
  }

  // ---- doing
  // *Done* counts only on a card that has stood for so long: wet glass, gloves and bouncing buttons
  // press twice, and a touch may still be on its way to the card before.
  const PAUSE_MS = 500;
  const TOLD_MS = 6000;
  let shownAt = -Infinity;
  let telling = 0;
  const isSettled = () => performance.now() - shownAt >= PAUSE_MS;

  function tell(words) {
    clearTimeout(telling);
    find("told").textContent = words;
    find("next").classList.toggle("covered", words !== "");
    if (words) telling = setTimeout(tell, TOLD_MS, "");
  }

  function change(act, words = "") {
    act();
    shownAt = performance.now();
    room.begin();
    for (const one of document.querySelectorAll(".notice details")) one.open = false;
    tell(words);
    if (!write()) find("forgetful").hidden = record.quiet ?? false;
    show();
    scrollTo(0, 0);
  }

  const go = (name) => change(() => { record.at = name; });
  const step = (by) => {
    const all = [...names, "finish"];
    const to = all[all.indexOf(record.at) + by];
    if (to && record.accepted) go(to);
  };

  const mayTick = (name) => name !== "finish" && !(isEnd(find(name)) && missing(setupOf(find(name))).length);

  // The end of a setup loses its tick with any of its steps.
  function takeBack(name) {
    const end = cards.find((card) => isEnd(card) && setupOf(card) === setupOf(find(name)));
    record.done = record.done.filter((one) => one !== name && one !== end.id);
    record.at = name;
  }

  function tick() {
    const name = record.at;
    if (!record.accepted || !isSettled()) return;
    if (isDone(name)) {
      change(() => {
        record.trail = record.trail.filter((piece, at) => piece !== record.piece || at !== record.trail.lastIndexOf(piece));
        takeBack(name);
      }, `tick taken back: ${called(find(name))}`);
    } else if (mayTick(name)) {
      const [piece, next] = onward(name);
      const loads = piece === record.piece ? "" : ` Wipe the stop, put in piece ${piece}.`;
      change(() => {
        record.done.push(name);
        record.trail.push(record.piece);
        if (loads) takeUp(piece);
        record.at = next;
      }, `ticked: ${called(find(name))}.${loads} Undo takes it back`);
      if (navigator.userActivation?.hasBeenActive) navigator.vibrate?.(40);
    }
    stayAwake();
  }

  function undo() {
    const piece = record.trail.at(-1) ?? record.piece;
    const last = ticksOf(piece).at(-1);
    if (!record.accepted || !last || !isSettled()) return;
    change(() => {
      record.trail.pop();
      if (piece !== record.piece) takeUp(piece);
      takeBack(last);
    }, `tick taken back: ${called(find(last))}`);
  }

  const switchUnits = () => change(() => { record.units = record.units === "mm" ? "inch" : "mm"; });
  const accept = () => { change(() => { record.accepted = true; }); stayAwake(); };
  const openList = () => {
    find("list").showModal();
    rows.get(record.at)?.focus();
  };

  // A screen that goes dark between two holes is touched with oily hands; not every browser helps.
  let awake = null;
  async function stayAwake() {
    if (served) return;  // over plain http there is no such thing
    try {
      if (!awake || awake.released) awake = await navigator.wakeLock.request("screen");
    } catch {
      awake = null;
    }
  }

  // ---- buttons and keys
  const on = (id, act) => find(id).addEventListener("click", act);
  on("done", tick);
  on("undo", undo);
  on("back", () => step(-1));
  on("ahead", () => step(1));
  on("units", switchUnits);
  on("all", openList);
  on("accept", accept);
  on("close", () => find("list").close());
  find("list").addEventListener("close", () => { shownAt = performance.now(); });
  on("cautions", () => { find("list").close(); change(() => { record.accepted = false; }); });
  const clear = () => {
    change(() => { record = { ...fresh(), accepted: true, units: record.units, known: record.known, writes: record.writes }; });
  };
  on("clear", () => {
    if (confirm("Take back every tick on this page?")) {
      find("list").close();
      clear();
    }
  });
  on("another", clear);
  for (const [name, row] of rows) {
    row.addEventListener("click", () => { find("list").close(); if (record.accepted) go(name); });
  }
  for (const button of document.querySelectorAll(".missing button")) {
    button.addEventListener("click", () => go(button.dataset.first));
  }
  for (const button of document.querySelectorAll(".next-piece")) {
    button.addEventListener("click", () => toPiece(nextPiece(setupOf(button)), setupOf(button)));
  }
  for (const row of document.querySelectorAll("[data-piece]")) {
    row.addEventListener("click", () => { find("list").close(); if (record.accepted) toPiece(Number(row.dataset.piece), null); });
  }
  for (const button of document.querySelectorAll("[data-close]")) {
    button.addEventListener("click", () => {
      find(button.dataset.close).hidden = true;
      if (button.dataset.close === "forgetful") record.quiet = true;
      else if (button.dataset.close !== "resumed") { record.known = otherPages(); write(); }
      fit();
    });
  }

  // No key ticks but on the button itself, and none that is held down.
  const keys = {
    u: undo, j: openList, m: switchUnits, ArrowRight: () => step(1), ArrowLeft: () => step(-1),
  };
  addEventListener("keydown", (event) => {
    const act = keys[event.key.length === 1 ? event.key.toLowerCase() : event.key];
    const isBusy = find("list").open || event.ctrlKey || event.altKey || event.metaKey || event.repeat;
    if (event.repeat && event.target.closest("button")) event.preventDefault();
    if (!act || isBusy) return;
    event.preventDefault();
    act();
  });
  addEventListener("storage", (event) => {
    if (served || event.key !== key) return;
    record = read(key) ?? fresh();
    show();
  });
  addEventListener("visibilitychange", () => document.visibilityState === "visible" && stayAwake());

  // ---- room
  const fit = () => room.fit(here(), record);
  for (const button of document.querySelectorAll("[data-peck]")) {
    button.addEventListener("click", () => room.peck(Number(button.dataset.peck), here(), record));
  }
  on("pecks-all", () => room.allPecks(here(), record));
  on("more", () => scrollBy({ top: innerHeight / 2, behavior: "smooth" }));
  addEventListener("scroll", () => room.showMore(record), { passive: true });
  addEventListener("resize", fit);
  addEventListener("toggle", fit, true);

  // ---- begin
  function resume() {
    const ticked = steps.filter((card) => isDone(card.id)).length;
    find("resumed").hidden = !record.done.length && !Object.values(record.others).some((one) => one.length);
    find("kept").textContent = [pieceWords(), `${ticked} of ${steps.length} steps`].filter(Boolean).join(", ");
  }

  // What is ticked elsewhere too: the card stays, and a button that changes its meaning is told.
  function takeTicks(all, piece) {
    const wasDone = isDone(record.at);
    const isFirst = isFirstTime && !hasHeard && !record.done.length && record.at === names[0];
    hasHeard = true;
    for (const one of turns()) {
      const there = all[one] ?? [];
      const own = ticksOf(one).filter((name) => there.includes(name));
      const ticks = [...there.filter((name) => names.includes(name) && !own.includes(name)), ...own];
      if (one === record.piece) record.done = ticks;
      else record.others[one] = ticks;
    }
    record.trail = record.trail.filter((one) => ticksOf(one).length);
    if (isFirst && piece <= pieces) {
      if (piece !== record.piece) takeUp(piece);
      record.at = (piece === 1 ? cards : steps).find((card) => !isDone(card.id))?.id ?? "finish";
      resume();
    } else if (record.at !== "finish" && isDone(record.at) !== wasDone) {
      shownAt = performance.now();
      tell(`${wasDone ? "tick taken back" : "ticked"} on another phone: ${called(find(record.at))}`);
    }
    keeping.write(key, record);
    show(false);
  }

  // What is ticked before the data base has answered is added to what it holds.
  async function lookInBase() {
    if (served) return;  // the PC holds it
    const begun = { done: [...record.done], writes: record.writes };
    const opened = await keeping.openBase();
    if (!opened) return;
    const found = await keeping.readBase(opened, key);
    base = opened;
    find("forgetful").hidden = true;
    const isNew = (name) => !begun.done.includes(name) && !found.done.includes(name);
    if (found && found.writes > begun.writes) {
      const isSamePiece = (found.piece ?? 1) === record.piece;
      const done = [...found.done, ...(isSamePiece ? record.done.filter(isNew) : [])];
      record = fitting({ ...found, done, accepted: found.accepted || record.accepted });
      if (done.length > found.done.length && isDone(record.at)) record.at = following(record.at);
    } else if (record.writes === begun.writes) {
      return;
    }
    write();
    resume();
    show(false);
  }

  resume();
  const older = otherPages().filter((name) => !record.known.includes(name) && read(name)?.done.length);
  const changed = older.map((name) => read(name).mark).filter((mark) => mark !== record.mark);
  find("old-marks").textContent = [...new Set(changed)].join(", ");
  if (served) older.length = changed.length = 0;  // what holds of older ticks was carried over
  find("changed").hidden = !changed.length;
  find("changed").querySelector("details").open = true;
  find("remade").hidden = !older.length || changed.length > 0;
  find("forgetful").hidden = keeping.write(key, record);
  root.classList.add("live");
  room.measure();
  show(false);
  lookInBase();
  served?.begin(takeTicks, allTicks());
})();
