"use strict";
// A move is a row of figures: program, line, kind, feed, tool and the places it passes. Nothing is
// worked out here but which move lies nearest to a touch.
(() => {
  const { moves, kinds } = JSON.parse(document.getElementById("run").textContent);
  const views = [...document.querySelectorAll("svg[data-view]")];
  const programs = [...document.querySelectorAll(".program")];
  const output = document.querySelector(".stepper output");
  const REACH = 24; // dots on the screen within which a touch means a move
  let chosen = -1;

  const ofLine = new Map();
  moves.forEach(([program, line], at) => {
    const key = `${program}:${line}`;
    if (!ofLine.has(key)) ofLine.set(key, []);
    ofLine.get(key).push(at);
  });

  const axes = (view) => [view.dataset.across, view.dataset.up].map((way) => way.split(",").map(Number));
  // where the place that begins at i comes along a way
  const on = (places, i, [x, y, z]) =>
    Math.round((places[i] * x + places[i + 1] * y + places[i + 2] * z) * 1000) / 1000;

  function pathOf(numbers, view) {
    const [across, up] = axes(view);
    let words = "";
    for (const at of numbers) {
      const places = moves[at][5];
      for (let i = 0; i < places.length; i += 3) {
        words += `${i ? "L" : "M"}${on(places, i, across)} ${-on(places, i, up)}`;
      }
    }
    return words;
  }

  function show(numbers) {
    for (const view of views) {
      const [across, up] = axes(view);
      const last = numbers.length ? moves[numbers[numbers.length - 1]][5].slice(-3) : null;
      view.querySelector(".chosen").setAttribute("d", pathOf(numbers, view));
      view.querySelector(".tip").setAttribute(
        "d", last ? `M${on(last, 0, across)} ${-on(last, 0, up)}h0` : "");
    }
  }

  function markLine(program, line, isIdle, isScrolled) {
    for (const old of document.querySelectorAll("li.chosen")) old.classList.remove("chosen", "idle");
    const row = programs[program] && programs[program].children[line - 1];
    if (!row) return;
    row.classList.add("chosen");
    row.classList.toggle("idle", isIdle);
    if (isScrolled) row.scrollIntoView({ block: "nearest" });
    for (const item of document.querySelectorAll(
      `.findings [data-program="${program}"][data-line="${line}"]`)) item.classList.add("chosen");
  }

  function figures(place) {
    return ["X", "Y", "Z"].map((letter, i) => `${letter}${place[i].toFixed(3)}`).join(" ");
  }

  function say(at, among) {
    const [, line, kind, feed, tool, places] = moves[at];
    const words = [`line ${line}`, `${kinds[kind]} to ${figures(places.slice(-3))}`];
    if (feed !== null) words.push(`${feed} mm/min`);
    if (tool) words.push(`tool ${tool}`);
    if (among > 1) words.push(`one of ${among} moves of this line`);
    output.textContent = words.join(", ");
  }

  function chooseMove(at, isScrolled = true) {
    chosen = at;
    const [program, line] = moves[at];
    show([at]);
    markLine(program, line, false, isScrolled);
    say(at, ofLine.get(`${program}:${line}`).length);
  }

  function chooseLine(program, line, isScrolled = false) {
    const numbers = ofLine.get(`${program}:${line}`) || [];
    show(numbers);
    markLine(program, line, numbers.length === 0, isScrolled);
    if (numbers.length) {
      chosen = numbers[numbers.length - 1];
      say(chosen, numbers.length);
    } else {
      output.textContent = `line ${line}: no move`;
      const before = moves.findLastIndex(([p, l]) => p < program || (p === program && l < line));
      chosen = before;
    }
  }

  function away(x, y, x1, y1, x2, y2) {
    const dx = x2 - x1, dy = y2 - y1, length = dx * dx + dy * dy;
    const share = length ? Math.min(1, Math.max(0, ((x - x1) * dx + (y - y1) * dy) / length)) : 0;
    return Math.hypot(x - x1 - share * dx, y - y1 - share * dy);
  }

  // Of moves that lie on one another the next after the one chosen: a second touch goes on.
  function nearest(view, event) {
    const matrix = view.getScreenCTM();
    const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix.inverse());
    const [across, up] = axes(view);
    let best = -1, least = REACH / matrix.a;
    for (let n = 1; n <= moves.length; n += 1) {
      const at = (chosen + n + moves.length) % moves.length;
      const places = moves[at][5];
      for (let i = 3; i < places.length; i += 3) {
        const distance = away(point.x, -point.y, on(places, i - 3, across), on(places, i - 3, up),
          on(places, i, across), on(places, i, up));
        if (distance < least - 1e-6) { least = distance; best = at; }
      }
    }
    return best;
  }

  for (const view of views) {
    view.addEventListener("click", (event) => {
      const mark = event.target.closest(".mark");
      const item = mark && document.querySelector(
        `.findings [data-finding="${mark.dataset.finding}"]`);
      if (item && item.dataset.line) {
        chooseLine(Number(item.dataset.program), Number(item.dataset.line), true);
        return;
      }
      const at = nearest(view, event);
      if (at >= 0) chooseMove(at);
    });
    // letters of one size, whatever the view's scale
    const resize = () => {
      const matrix = view.getScreenCTM();
      if (!matrix) return;
      for (const text of view.querySelectorAll("text")) {
        text.style.fontSize = `${15 / matrix.a}px`;
        text.setAttribute("dx", 6 / matrix.a);
        text.setAttribute("dy", -6 / matrix.a);
      }
    };
    resize();
    window.addEventListener("resize", resize);
  }
  for (const program of programs) {
    program.addEventListener("click", (event) => {
      const row = event.target.closest("li");
      if (!row) return;
      const line = [...program.children].indexOf(row) + 1;
      chooseLine(Number(program.dataset.program), line);
    });
    program.addEventListener("keydown", (event) => {
      const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
      if (!step) return;
      event.preventDefault();
      const row = program.querySelector("li.chosen");
      const line = row ? [...program.children].indexOf(row) + 1 + step : 1;
      if (line >= 1 && line <= program.children.length) {
        chooseLine(Number(program.dataset.program), line, true);
      }
    });
  }
  for (const item of document.querySelectorAll(".findings [data-line]")) {
    item.tabIndex = 0;
    const go = () => chooseLine(Number(item.dataset.program), Number(item.dataset.line), true);
    item.addEventListener("click", go);
    item.addEventListener("keydown", (event) => { if (event.key === "Enter") go(); });
  }
  document.querySelector(".stepper").hidden = false;
  function stepBy(count) {
    const at = chosen + count;
    if (at >= 0 && at < moves.length) chooseMove(at);
  }

  for (const button of document.querySelectorAll("[data-step]")) {
    button.addEventListener("click", () => stepBy(Number(button.dataset.step)));
  }
  addEventListener("keydown", (event) => {
    const count = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    if (!count || event.ctrlKey || event.altKey || event.metaKey) return;
    event.preventDefault();
    stepBy(count);
  });
})();
