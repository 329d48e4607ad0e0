"use strict";
// A part's page. What is typed goes to the PC letter by letter and is put into the file when its box
// is left; what comes back renews pictures, findings and marks, never a box that is being typed in.

(() => {
  const page = document.querySelector("[data-sheet]");
  if (!page) return;
  let address = `/sheet/${page.dataset.sheet}`;
  const waiting = new Map(); // box -> letters that the PC does not have yet
  let isSending = false;

  const boxOf = (event) => event.target.closest("[data-key]");
  const nameOf = (box) => `${box.dataset.line} ${box.dataset.key}`;
  const textOf = (box) => (box.type === "checkbox" ? (box.checked ? "yes" : "no") : box.value);

  // letters

  async function sendLetters() {
    if (isSending) return;
    isSending = true;
    while (waiting.size) {
      const [name, letters] = waiting.entries().next().value;
      const answer = await desk.send("PUT", `${address}/letters`, letters);
      if (!answer.ok || waiting.get(name) === letters) waiting.delete(name);
    }
    isSending = false;
  }

  function keepLetters(box) {
    box.dataset.unsent = "yes";
    const { line, key, table } = box.dataset;
    waiting.set(nameOf(box), { line, key, table, value: textOf(box) });
    sendLetters();
  }

  function takeBack(box, kept) {
    box.value = box.dataset.kept = kept;
    const { line, key, table } = box.dataset;
    waiting.set(nameOf(box), { line, key, table, value: null });
    delete box.dataset.unsent;
    sendLetters();
  }

  // a figure put down

  const goingOut = new Map(); // box -> the answer to what was put down in it, on its way

  // One after the other for each box: what stood there before is what the first answer says.
  async function putDown(box, isAsked = false) {
    const name = nameOf(box);
    if (textOf(box) !== box.dataset.kept && box.dataset.onTheWay !== textOf(box)) box.dataset.unsent = "yes";
    while (goingOut.has(name)) await goingOut.get(name);
    if (!box.isConnected || !(box.dataset.unsent || isAsked)) return;
    const going = sendDown(box);
    goingOut.set(name, going);
    const asked = await going.finally(() => goingOut.delete(name));
    if (asked?.clash) await askWhich(box, asked.clash, asked);
  }

  async function sendDown(box) {
    const { line, key, table } = box.dataset;
    const value = textOf(box);
    waiting.delete(nameOf(box));
    const before = box.dataset.kept ?? "";
    delete box.dataset.unsent;
    box.dataset.onTheWay = value;
    const asked = { line, table, typed: { [key]: value }, before: { [key]: before } };
    const answer = await desk.send("POST", `${address}/figure`, asked);
    delete box.dataset.onTheWay;
    if (!answer.ok) {
      if (answer.is_gone) askWhatBecame();
      return null;
    }
    if (answer.clash) return { ...asked, clash: answer.clash };
    box.dataset.kept = answer.stands?.[key] ?? value;
    took(answer);
    return null;
  }

  let drawn = null; // number of the state that drawing and margin were asked for
  function took(answer) {
    if (answer.moved_to) return location.assign(answer.moved_to);
    for (const html of answer.lines ?? []) renew(html);
    if (answer.title) renew(answer.title);
    for (const id of answer.gone ?? []) document.getElementById(`line-${id}`)?.remove();
    if (answer.steps) renew(answer.steps);
    if (answer.say) say(answer.say);
    if (answer.told) desk.say(answer.told, "told");
    if (answer.focus) document.querySelector(answer.focus)?.focus();
    // the page hears of its own change once more, as of one made elsewhere: it is drawn already
    if (answer.number === undefined || answer.number !== drawn) document.body.dispatchEvent(new CustomEvent("sheet-changed"));
    drawn = answer.number ?? drawn;
  }

  // what completes a box while it is typed in

  const offered = document.getElementById("offered");
  async function offer(box) {
    const what = document.getElementById(`${box.dataset.line}-what`)?.value ?? "";
    const asked = new URLSearchParams({ of: box.dataset.offers, typed: box.value, kind: what });
    const answer = await fetch(`${address}/offers?${asked}`, { headers: { "HX-Request": "true" } });
    if (!answer.ok || document.activeElement !== box) return;
    offered.replaceChildren(...(await answer.json()).offers.map((words) => new Option(words, words)));
    box.setAttribute("list", "offered");
  }

  // what came back: a piece with the caret, or with letters on the way, stays as it is

  const isHeld = (piece) =>
    piece.contains(document.activeElement) ||
    piece.querySelector("[data-unsent], [data-on-the-way]") !== null ||
    piece.matches("[data-unsent], [data-on-the-way]");

  function elementOf(html) {
    const template = document.createElement("template");
    template.innerHTML = html;
    return template.content.firstElementChild;
  }

  function renew(html) {
    const fresh = elementOf(html);
    const there = document.getElementById(fresh.id);
    if (!there) {
      const after = document.getElementById(fresh.dataset.after ?? "");
      if (after) after.after(fresh);
      else document.getElementById(fresh.dataset.into)?.append(fresh);
      return;
    }
    if (isSame(there, fresh)) return;
    if (!isHeld(there)) return swap(there, fresh);
    there.className = fresh.className;
    there.dataset.mark = ""; // shown in part: wholly when it is left
    renewHeld(there, fresh);
  }

  const named = (within, name) => within.querySelector(`[data-renew="${CSS.escape(name)}"]`);

  // What is held is renewed box by box but for the box itself, and keeps the boxes that go to
  // another place; all else is put in anew.
  function renewHeld(there, fresh) {
    const pieces = [...there.querySelectorAll("[data-renew]:not(.box)")];
    for (const piece of pieces.filter(isHeld)) renewBoxes(piece, fresh);
    for (const other of fresh.querySelectorAll("[data-renew]:not(.box)")) {
      const piece = named(there, other.dataset.renew);
      if (piece && isHeld(piece)) continue;
      if (piece?.dataset.more) { if (piece.childElementCount) askMore(piece); }
      else if (piece) swap(piece, other);
      else {
        const before = other.previousElementSibling?.dataset.renew;
        if (before && other.childElementCount) named(there, before)?.after(other);
      }
    }
  }

  function renewBoxes(piece, fresh) {
    for (const box of piece.querySelectorAll(".box")) {
      const other = named(fresh, box.dataset.renew);
      if (!other) continue;
      if (isHeld(box)) mark(box, other);
      else box.replaceWith(other.cloneNode(true));
      other.remove();
    }
  }

  // what stands under "more" comes when it is opened, and anew with its line
  async function askMore(piece) {
    const asked = await fetch(piece.dataset.more, { headers: { "HX-Request": "true" } });
    if (!asked.ok || !piece.isConnected) return;
    const fresh = elementOf(`<div>${await asked.text()}</div>`);
    if (isHeld(piece)) return renewBoxes(piece, fresh);
    for (const box of piece.closest(".line").querySelectorAll(".groups .box")) named(fresh, box.dataset.renew)?.remove();
    piece.replaceChildren(...fresh.children);
  }
  addEventListener("toggle", (event) => {
    const piece = event.target.open && event.target.querySelector(":scope > [data-more]");
    if (piece && !piece.childElementCount) askMore(piece);
  }, true);

  const isSame = (there, fresh) => there.outerHTML === fresh.outerHTML;

  function swap(there, fresh) {
    const open = new Set([...there.querySelectorAll("details[open][id]")].map((one) => one.id));
    for (const old of there.querySelectorAll("[data-more]")) {
      const now = fresh.querySelector(`[data-renew="${old.dataset.renew}"]`);
      now?.replaceChildren(...old.children);
    }
    there.replaceWith(fresh);
    for (const piece of fresh.querySelectorAll("[data-more]")) if (piece.childElementCount) askMore(piece);
    for (const one of fresh.querySelectorAll("details[id]")) one.open ||= open.has(one.id);
  }

  function mark(piece, fresh) {
    for (const box of piece.querySelectorAll("[data-key]")) {
      const other = [...fresh.querySelectorAll("[data-key]")].find(
        (one) => one.dataset.key === box.dataset.key,
      );
      if (!other) continue;
      box.closest(".box")?.classList.toggle("in-pencil", other.closest(".box").matches(".in-pencil"));
      const invalid = other.getAttribute("aria-invalid");
      if (invalid) box.setAttribute("aria-invalid", invalid);
      else box.removeAttribute("aria-invalid");
      if (isHeld(box) && textOf(box) !== box.dataset.kept) continue; // it is being typed in
      box.dataset.kept = other.dataset.kept;
      if (!isHeld(box)) box.value = other.value;
    }
  }

  function say(words) {
    const place = document.getElementById("heard");
    if (place) place.textContent = words;
  }

  // changed elsewhere, in the words of the form

  function askWhich(box, clash, asked) {
    const question = document.getElementById("which");
    question.querySelector("[data-words]").textContent = clash.words;
    question.querySelector("[data-mine]").textContent = `keep mine: ${clash.mine}`;
    question.querySelector("[data-theirs]").textContent = `keep the file's: ${clash.theirs}`;
    question.returnValue = "";
    question.addEventListener(
      "close",
      async () => {
        const again = () => document.getElementById(box.id)?.focus();
        again(); // so that it stays as it is
        if (question.returnValue === "mine") {
          const answer = await desk.send("POST", `${address}/figure`, { ...asked, before: clash.before });
          if (answer.ok) box.dataset.kept = answer.stands?.[box.dataset.key] ?? clash.mine;
          took(answer);
        } else if (question.returnValue === "both") {
          took(await desk.send("POST", `${address}/copy`, { ...asked, before: clash.before }));
        } else if (question.returnValue === "theirs") {
          takeBack(box, clash.theirs);
          refresh();
        } else box.dataset.unsent = "yes"; // not answered: asked again when it is left
        again();
      },
      { once: true },
    );
    question.showModal();
  }

  // the hands of the person

  document.addEventListener("input", (event) => {
    const box = boxOf(event);
    if (box && box.tagName === "INPUT" && box.type === "text") {
      keepLetters(box);
      if (box.dataset.offers) offer(box);
    }
  });
  document.addEventListener("change", (event) => {
    const box = boxOf(event);
    if (box) putDown(box);
  });
  document.addEventListener("focusin", (event) => {
    const line = event.target.closest("[data-line-of]");
    if (line) choose(line.dataset.lineOf);
  });
  document.addEventListener("focusout", (event) => {
    const line = event.target.closest("[data-line-of]");
    if (line?.dataset.mark === "") setTimeout(() => goingOut.size || refresh());
  });
  document.addEventListener("keydown", (event) => {
    const box = boxOf(event);
    if (!box || box.tagName !== "INPUT") return;
    if (event.key === "Escape" && textOf(box) !== box.dataset.kept) {
      takeBack(box, box.dataset.kept);
      event.preventDefault();
    } else if (event.key === "Enter") {
      event.preventDefault();
      putDown(box, box.getAttribute("aria-invalid") === "true");
    }
  });
  document.addEventListener("click", async (event) => {
    const button = event.target.closest("button[data-ask]");
    if (button) {
      event.preventDefault();
      const asked = button.dataset.with ? JSON.parse(button.dataset.with) : {};
      button.disabled = true;
      const isCallOut = button.closest("#called-out") !== null;
      const answer = await desk.send("POST", `${address}/${button.dataset.ask}`, asked);
      if (isCallOut && answer.ok) {
        document.getElementById("call-out").value = "";
        document.getElementById("called-out").replaceChildren();
      }
      button.disabled = false;
      if (answer.ok) took(answer);
      return;
    }
    const hole = event.target.closest("#board .hole");
    const link = event.target.closest("a[data-line-id]");
    const id = link?.dataset.lineId ?? idOf(hole);
    if (id) {
      event.preventDefault();
      choose(id);
      document.querySelector(`#line-${id} [data-key]`)?.focus();
      return;
    }
    event.target.closest("#board .view svg")?.closest(".view").querySelector("button")?.focus();
  });

  // a hole chosen in one place is chosen everywhere

  // The drawing knows a line by its place in the file: the board says which id that is.

  const idsOfLines = () => document.querySelector("#board [data-ids]")?.dataset.ids.split(" ") ?? [];
  const idOf = (drawn) => (drawn?.dataset.line ? idsOfLines()[Number(drawn.dataset.line)] : undefined);
  let chosen = "";
  function choose(line) {
    chosen = line;
    for (const one of document.querySelectorAll(".is-chosen")) one.classList.remove("is-chosen");
    const place = String(idsOfLines().indexOf(line));
    for (const one of [
      ...document.querySelectorAll(`[data-line-of="${CSS.escape(line)}"]`),
      ...document.querySelectorAll(`a[data-line-id="${CSS.escape(line)}"]`),
      ...document.querySelectorAll(`#board :is(.hole, .balloon, .figure)[data-line="${place}"]`),
    ]) {
      one.classList.add("is-chosen");
    }
  }
  // a page that was come to for one line shows it once all above it has its height
  let comeFor = location.hash.slice(1);
  document.body.addEventListener("htmx:afterSwap", (event) => {
    if (chosen) choose(chosen);
    if (comeFor && event.target.id === "board") {
      const wanted = document.getElementById(comeFor);
      comeFor = "";
      wanted?.scrollIntoView();
      wanted?.querySelector("[data-key]")?.focus();
    }
  });

  // changes that were made elsewhere: in another window, or in a text editor

  async function lines(ids) {
    const asked = await fetch(`${address}/lines?ids=${ids}`, { headers: { "HX-Request": "true" } });
    const now = await asked.json().catch(() => ({}));
    if (now.is_gone) askWhatBecame();
    return asked.ok ? now : null;
  }

  async function refresh() {
    const now = await lines("");
    if (!now) return;
    if (!now.marks) { // the text does not read just now: the lines that are shown stay
      document.body.dispatchEvent(new CustomEvent("sheet-changed"));
      return;
    }
    for (const line of document.querySelectorAll("[data-line-of]")) {
      if (line.dataset.lineOf && !now.marks[line.dataset.lineOf] && !isHeld(line)) line.remove();
    }
    const other = Object.keys(now.marks).filter(
      (id) => document.getElementById(`line-${id}`)?.dataset.mark !== now.marks[id],
    );
    const fresh = other.length ? await lines(other) : now;
    if (fresh) took({ ...fresh, ok: true });
  }
  document.body.addEventListener(`changed-${page.dataset.sheet}`, refresh);
  document.body.addEventListener("desk-resent", refresh);

  // the file was renamed or removed under this page: it is asked about, and what was typed goes along

  async function askWhatBecame() {
    const asked = await fetch(`${address}/gone`, { headers: { "HX-Request": "true" } });
    if (asked.status !== 200) return;
    const place = document.getElementById("gone");
    if (!place.firstElementChild) {
      place.innerHTML = await asked.text();
      place.scrollIntoView({ block: "center" });
    }
  }
  document.body.addEventListener("desk-sent", async (event) => {
    const at = event.detail.answer.goes_on_at;
    if (!at) return;
    address = at;
    for (const box of page.querySelectorAll("[data-key]")) {
      if (box.type !== "checkbox" && textOf(box) !== (box.dataset.kept ?? "")) await putDown(box);
    }
    location.assign(at);
  });

  // what a cure alters is shown before it is agreed to

  document.addEventListener("click", async (event) => {
    const button = event.target.closest("button[data-show]");
    if (!button) return;
    const asked = await fetch(`${address}/${button.dataset.show}`, { headers: { "HX-Request": "true" } });
    const alters = document.getElementById("alters");
    alters.innerHTML = await asked.text();
    alters.showModal();
  });

  // a new finding is read out once, worst first, and not on each letter

  let heard = null;
  document.body.addEventListener("htmx:afterSwap", (event) => {
    if (event.target.id !== "red-pencil") return;
    const marks = [...event.target.querySelectorAll(".mark[data-finding]")];
    const fresh = marks.filter((one) => heard && !heard.has(one.dataset.finding) && !one.matches(".note"));
    heard = new Set(marks.map((one) => one.dataset.finding));
    const words = fresh.map((one) => one.querySelector("p").textContent.replace(/\s+/g, " ").trim());
    if (words.length) document.getElementById("heard").textContent = words.join(" ");
  });
})();
