"use strict";
// The text of a file: put into the file by its button, errors at their line.
(() => {
  const side = document.querySelector("[data-text]");
  if (!side) return;
  const text = document.getElementById("text");
  const said = document.getElementById("text-said");
  const faults = document.getElementById("faults");
  const address = `/sheet/${side.dataset.text}/text`;
  const inCopy = document.getElementById("text-in-copy");
  const draft = `text ${side.dataset.text}`;

  const kept = sessionStorage.getItem(draft);
  if (kept !== null && kept !== text.value) {
    text.value = kept;
    said.textContent = "As you left it: not in the file yet.";
  }
  text.addEventListener("input", () => sessionStorage.setItem(draft, text.value));

  function show(found) {
    faults.replaceChildren(
      ...found.map((one) => {
        const item = document.createElement("li");
        item.className = "mark stop";
        if (one.line) {
          const link = document.createElement("a");
          link.href = "#text";
          link.dataset.textLine = one.line;
          link.textContent = `line ${one.line}`;
          item.append(link, ": ");
        }
        item.append(one.message);
        if (one.remedy) {
          const remedy = document.createElement("p");
          remedy.textContent = one.remedy;
          item.append(remedy);
        }
        return item;
      }),
    );
  }

  document.getElementById("keep-text").addEventListener("click", async () => {
    const sent = text.value;
    const answer = await desk.send("PUT", address, { text: sent, based_on: side.dataset.basedOn });
    if (!answer.ok) return;
    inCopy.hidden = !answer.clash;
    if (answer.clash) {
      said.textContent = "The file was changed elsewhere meanwhile, and stays as it is there. Keep yours in a copy, or load this page again.";
      return;
    }
    side.dataset.basedOn = answer.mark;
    show(answer.faults);
    said.textContent = answer.faults.length
      ? "In pencil: it does not read yet, so the file stays as it was."
      : `Kept ${answer.kept}`;
    if (text.value === sent) sessionStorage.removeItem(draft);
  });
  inCopy.addEventListener("click", async () => {
    const answer = await desk.send("POST", `/sheet/${side.dataset.text}/copy`, { text: text.value });
    if (!answer.ok) return;
    sessionStorage.removeItem(draft);
    location.assign(answer.moved_to);
  });
  function goTo(line) {
    const lines = text.value.split("\n").slice(0, line);
    const end = lines.join("\n").length;
    text.focus();
    text.setSelectionRange(end - lines.at(-1).length, end);
  }

  faults.addEventListener("click", (event) => {
    const link = event.target.closest("[data-text-line]");
    if (!link) return;
    event.preventDefault();
    goTo(Number(link.dataset.textLine));
  });
  const asked = location.hash.match(/^#line-(\d+)$/);
  if (asked) goTo(Number(asked[1]));
})();
