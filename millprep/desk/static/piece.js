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

  // a figure put down

  async function putDown(box, more = {}) {
    const { line, key, table } = box.dataset;
    const value = textOf(box);
    if (value === box.dataset.kept && !box.dataset.unsent) return;
    waiting.delete(nameOf(box));
    const before = box.dataset.kept ?? "";
    delete box.dataset.unsent;
    box.dataset.onTheWay = value;
    const asked = { line, table, typed: { [key]: value }, before: { [key]: before }, ...more };
    const answer = await desk.send("POST", `${address}/figure`, asked);
    if (box.dataset.onTheWay === value) delete box.dataset.onTheWay;
    if (!answer.ok) return answer.is_gone ? askWhatBecame() : undefined;
    if (answer.clash) return askWhich(box, answer.clash, asked);
    box.dataset.kept = value;
    took(answer);
  }

  function took(answer) {
    if (answer.moved_to) return location.assign(answer.moved_to);
    for (const html of answer.lines ?? []) renew(html);
    if (answer.title) renew(answer.title);
    for (const id of answer.gone ?? []) document.getElementById(`line-${id}`)?.remove();
    if (answer.steps) renew(answer.steps);
    if (answer.say) say(answer.say);
    if (answer.focus) document.querySelector(answer.focus)?.focus();
    document.body.dispatchEvent(new CustomEvent("sheet-changed"));
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
      htmx.process(fresh);
      return;
    }
    if (isSame(there, fresh)) return;
    if (!isHeld(there)) return swap(there, fresh);
    there.className = fresh.className;
    if (fresh.dataset.mark) there.dataset.mark = fresh.dataset.mark;
    for (const piece of there.querySelectorAll("[data-renew]")) {
      const other = fresh.querySelector(`[data-renew="${piece.dataset.renew}"]`);
      if (other && !isHeld(piece)) swap(piece, other);
      else if (other) mark(piece, other);
    }
  }

  const isSame = (there, fresh) => there.outerHTML === fresh.outerHTML;

  function swap(there, fresh) {
    const open = new Set([...there.querySelectorAll("details[open][id]")].map((one) => one.id));
    there.replaceWith(fresh);
    htmx.process(fresh);
    for (const one of fresh.querySelectorAll("details[id]")) one.open ||= open.has(one.id);
  }

  function mark(piece, fresh) {
    for (const box of piece.querySelectorAll("[data-key]")) {
      const other = [...fresh.querySelectorAll("[data-key]")].find(
        (one) => one.dataset.key === box.dataset.key,
      );
      if (!other) continue;
      box.classList.toggle("in-pencil", other.classList.contains("in-pencil"));
      const invalid = other.getAttribute("aria-invalid");
      if (invalid) box.setAttribute("aria-invalid", invalid);
      else box.removeAttribute("aria-invalid");
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
        if (question.returnValue === "mine") {
          took(await desk.send("POST", `${address}/figure`, { ...asked, before: clash.before }));
        } else if (question.returnValue === "both") {
          took(await desk.send("POST", `${address}/copy`, { ...asked, before: clash.before }));
        } else {
          box.value = box.dataset.kept = clash.theirs;
          await desk.send("PUT", `${address}/letters`, { ...box.dataset, value: null });
          refresh();
        }
        box.focus();
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
  document.addEventListener("keydown", (event) => {
    const box = boxOf(event);
    if (!box || box.tagName !== "INPUT") return;
    if (event.key === "Escape" && textOf(box) !== box.dataset.kept) {
      box.value = box.dataset.kept;
      keepLetters(box);
      delete box.dataset.unsent;
      event.preventDefault();
    } else if (event.key === "Enter") {
      event.preventDefault();
      putDown(box);
    }
  });
  document.addEventListener("click", async (event) => {
    const button = event.target.closest("button[data-ask]");
    if (button) {
      event.preventDefault();
      const asked = button.dataset.with ? JSON.parse(button.dataset.with) : {};
      button.disabled = true;
      const answer = await desk.send("POST", `${address}/${button.dataset.ask}`, asked);
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
  document.body.addEventListener("htmx:afterSwap", () => chosen && choose(chosen));

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
