"use strict";
// The ticks of a page that is gone through over days are kept on this machine. A step is known by
// its words, so that it stays ticked where the file has changed and steps are numbered anew.
(() => {
  const name = `millprep ticks: ${document.title.replace(/\s+/g, " ")}`.replace(/ [0-9a-f]+$/, "");
  const boxes = [...document.querySelectorAll("input.box")];
  const words = boxes.map((box) => {
    const cells = [...box.closest("tr").querySelectorAll("[data-cell]")];
    return cells.slice(1).map((cell) => cell.textContent).join(" / ");
  });
  const line = document.querySelector("output");

  function kept() {
    try {
      const found = JSON.parse(localStorage.getItem(name));
      return Array.isArray(found) ? found : [];
    } catch {
      return [];
    }
  }

  function keep() {
    try {
      const done = words.filter((_, index) => boxes[index].checked);
      localStorage.setItem(name, JSON.stringify(done));
      return true;
    } catch {
      return false;
    }
  }

  // "1-4, 7": what --done takes
  function numbers() {
    const spans = [];
    boxes.forEach((box, index) => {
      const last = spans.at(-1);
      if (!box.checked) return;
      if (last && last[1] === index) last[1] = index + 1;
      else spans.push([index + 1, index + 1]);
    });
    return spans.map(([from, to]) => (from === to ? `${from}` : `${from}-${to}`)).join(",");
  }

  function show(isKept) {
    const done = numbers();
    const asked = done ? `${line.dataset.command} --done ${done} --change '...'` : "";
    line.textContent = isKept ? asked : "This browser keeps no ticks: print the page.";
  }

  const before = kept();
  boxes.forEach((box, index) => {
    box.checked = before.includes(words[index]);
    box.addEventListener("change", () => show(keep()));
  });
  show(true);
})();
