"use strict";
// Forms: what is typed is kept in the browser until it has been taken, is shown as a picture while it
// is typed, and what does not read is said at its box. Nothing that comes back renews a box.
(() => {
  const boxes = (form) => [...form.querySelectorAll("[name]")];
  const isPick = (box) => box.type === "radio" || box.type === "checkbox";
  const typed = (form) => Object.fromEntries(
    boxes(form).filter((box) => !isPick(box) || box.checked).map((box) => [box.name, box.value]));

  function begin(form) {
    const draft = `form ${document.querySelector('meta[name="desk-folder"]').content} ${form.dataset.post}`;
    const left = new Set();
    let count = 0;

    function bring() {
      let kept = null;
      try { kept = JSON.parse(localStorage.getItem(draft)); } catch { /* not ours */ }
      for (const box of kept ? boxes(form) : []) {
        if (isPick(box)) box.checked = kept[box.name] === box.value;
        else if (box.name in kept) box.value = kept[box.name];
      }
      const place = form.querySelector("[data-left]");
      if (kept && place) place.textContent = "As you left it: not on the board yet.";
    }

    function say(why, only = null) {
      for (const place of form.querySelectorAll("[data-why]")) {
        const name = place.dataset.why;
        if (only && !only.has(name)) continue;
        const words = why[name] ?? "";
        if (place.textContent !== words) place.textContent = words;
        const box = name && form.querySelector(`[name="${CSS.escape(name)}"]`);
        if (!box) continue;
        if (words) box.setAttribute("aria-invalid", "true");
        else box.removeAttribute("aria-invalid");
      }
    }

    // the picture, the name of the file, and of a box that was left, why it does not read
    async function show() {
      if (!form.dataset.live) return;
      const mine = ++count;
      const asked = new URLSearchParams(typed(form));
      let answer;
      try {
        answer = await (await fetch(`${form.dataset.live}?${asked}`, { headers: { "HX-Request": "true" } })).json();
      } catch { return; }
      if (mine !== count) return;
      const picture = form.querySelector("[data-picture]");
      if (picture && answer.picture && picture.innerHTML !== answer.picture) picture.innerHTML = answer.picture;
      const file = form.querySelector("[data-file]");
      if (file) file.textContent = answer.file ?? "";
      say(answer.why ?? {}, left);
    }

    form.addEventListener("input", () => {
      try { localStorage.setItem(draft, JSON.stringify(typed(form))); } catch { /* full: it is in the page */ }
      show();
    });
    form.addEventListener("change", (event) => { left.add(event.target.name); show(); });
    form.addEventListener("submit", async (event) => {
      event.preventDefault();
      const button = event.submitter ?? form.querySelector("button");
      button.disabled = true;
      const answer = await desk.send("POST", form.dataset.post, { typed: typed(form) });
      button.disabled = false;
      count += 1;
      for (const box of boxes(form)) left.add(box.name);
      say(answer.why ?? {});
      if (answer.why) form.querySelector("[aria-invalid]")?.focus();
      if (!answer.ok || answer.why) return;
      localStorage.removeItem(draft);
      if (answer.go) location.assign(answer.go);
      else form.closest(".slip")?.remove();
    });
    for (const leave of form.querySelectorAll("[data-leave]")) {
      leave.addEventListener("click", () => localStorage.removeItem(draft));
    }
    bring();
    show();
  }

  for (const form of document.querySelectorAll("form[data-post]")) begin(form);
})();
