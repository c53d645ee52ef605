"use strict";
/* The phone page. All words, readings and pictures come with the page; nothing is loaded from anywhere. */
(function () {
  const work = JSON.parse(document.getElementById("work").textContent);
  const key = "pegging " + work.key;
  const root = document.documentElement;
  root.classList.add("scripted");
  if (work.feet) root.classList.add("feet");

  /* -- what is kept ------------------------------------------------------------------------------------ */
  let kept = { at: -1, ticks: {}, readings: [], forced: {}, gates: {}, settings: {} };
  let remembers = true;
  try {
    const held = localStorage.getItem(key);
    if (held) kept = Object.assign(kept, JSON.parse(held));
    localStorage.setItem(key, JSON.stringify(kept));
  } catch (refused) { remembers = false; }
  function keep() { if (remembers) { try { localStorage.setItem(key, JSON.stringify(kept)); } catch (refused) { remembers = false; } } }
  if (kept.settings.night) root.classList.add("night");
  if (kept.settings.left) root.classList.add("lefthand");

  /* -- acts: gate 0, then each row of each step with its check, then the gates ------------------------- */
  const acts = [];
  const gate = (n) => work.gates.find((g) => g.number === n);
  work.gates.filter((g) => g.number === 0).forEach((g) => acts.push({ kind: "gate", gate: g }));
  work.chapters.forEach((chapter) => {
    const measure = (after) => chapter.checks.filter((check) => check.after === after)
      .forEach((check) => acts.push({ kind: "check", chapter, step: null, row: null, index: 0, check }));
    chapter.steps.forEach((step, count) => {
      step.rows.forEach((row, index) => {
        acts.push({ kind: "drive", chapter, step, row, index });
        if (row.check) acts.push({ kind: "check", chapter, step, row, index, check: row.check });
      });
      measure(count + 1);
    });
    if (chapter.edges.length) acts.push({ kind: "edge", chapter, step: null, row: null, index: 0 });
    measure(null);
  });
  work.gates.filter((g) => g.number > 0 && g.number < 4).forEach((g) => acts.push({ kind: "gate", gate: g }));
  if (work.heights.tops.length + work.heights.built.length) acts.push({ kind: "heights" });
  work.gates.filter((g) => g.number >= 4).forEach((g) => acts.push({ kind: "gate", gate: g }));
  const atEnd = (act) => act.kind === "gate" || act.kind === "heights";
  const id = (act) => act.kind === "gate" ? "gate " + act.gate.number
    : act.kind === "check" ? "check " + act.check.start + " " + act.check.end + (act.step ? "" : " of " + (act.chapter.number || "E"))
    : act.kind === "edge" ? "edges " + (act.chapter.number || "E") : "peg " + act.row.peg;
  const done = (act) => act.kind === "gate" ? openTicks(act.gate) === 0 : act.kind === "heights" ? openHeights() === 0 : !!kept.ticks[id(act)];
  const stepOf = (act) => act.step ? act.step.number : 0;

  /* -- reading what a person typed ---------------------------------------------------------------------- */
  function parse(text) {
    const clean = text.trim().replace(/,/g, ".");
    if (!clean) return NaN;
    if (!work.feet) return /^\d+(\.\d+)?$/.test(clean) ? Number(clean) : NaN;
    const m = /^(?:(\d+)\s*(?:'|ft)\s*)?(?:(\d+))?\s*(?:(\d+)\/(\d+))?\s*(?:"|in)?$/.exec(clean);
    if (!m || (!m[1] && !m[2] && !m[3])) return NaN;
    return (Number(m[1] || 0) * 12 + Number(m[2] || 0) + (m[3] ? Number(m[3]) / Number(m[4]) : 0)) * 0.0254;
  }
  function show(metres) {
    if (!work.feet) return metres.toFixed(3);
    const eighths = Math.round(metres / 0.0254 * 8), feet = Math.floor(eighths / 96), rest = eighths % 96;
    let top = rest % 8, bottom = 8;
    while (top && top % 2 === 0) { top /= 2; bottom /= 2; }
    return feet + "' " + Math.floor(rest / 8) + (top ? " " + top + "/" + bottom : "") + '"';
  }
  const millimetres = (metres) => work.feet ? show(Math.abs(metres)) : Math.max(1, Math.round(Math.abs(metres) * 1000)) + " mm";

  /* The answer to a reading. `before` is the reading before at the same check, or null. */
  function answer(text, check, before) {
    const r = parse(text), lo = check.lo, hi = check.hi, mid = check.mid, half = (hi - lo) / 2;
    if (!(r >= 0)) return { kind: "empty", head: "Type the number", lines: ["As the tape shows it: " + (work.feet ? "feet and inches." : "metres, point, three figures.")] };
    const d = r - mid, size = Math.abs(d), slack = 1e-9;
    if (r >= lo - slack && r <= hi + slack) return { kind: "good", r, head: "Good", lines: [show(r) + " is between " + check.low + " and " + check.high + ". Tick. Go on."] };
    const same = before !== null && Math.abs(r - before) <= 0.010 + slack;
    const over = d > 0 ? "over" : "under", past = d > 0 ? r - hi : lo - r;
    if (!same) {
      for (const n of [1, 2]) if (Math.abs(size - n) <= half / 2 + slack)
        return { kind: "metre", r, head: "Read it again", lines: [show(r) + " is " + (n === 1 ? "one metre " : "two metres ") + over + ". Was it " + show(r - Math.sign(d) * n) + "? Look at the metre figure."] };
      if (size >= 3 * half - slack) {
        for (const n of [0.1, 0.2]) if (Math.abs(size - n) <= half / 2 + slack)
          return { kind: "ten", r, head: "Read it again", lines: [show(r) + " is " + (n === 0.1 ? "ten" : "twenty") + " centimetres " + over + ". Was it " + show(r - Math.sign(d) * n) + "? Look at the centimetre figure."] };
        const v = swapped(r, mid, half);
        if (v !== null) return { kind: "swapped", r, head: "Read it again", lines: [show(r) + " is far off. Were two figures swapped? " + show(v) + " would be good."] };
      }
    }
    if (before === null || (!same && before >= lo && before <= hi))
      return { kind: "again", r, head: "Not good yet", lines: [show(r) + " is " + millimetres(past) + " " + over + ". Measure once more: low, straight, tight, zero on the nail."] };
    return { kind: "stop", r, head: "STOP", lines: ["Twice not good: " + millimetres(past) + " " + over + ". Leave " + check.end + " in. Do not drive the next peg.", "Read all tapes at the peg. Then go to the last page of the paper."] };
  }
  function swapped(r, mid, half) {
    if (work.feet) return null;
    const figures = r.toFixed(3).split("");
    for (let i = 0; i < figures.length - 1; i++) {
      let j = i + 1;
      if (figures[j] === ".") j++;
      if (figures[i] === "." || figures[i] === figures[j]) continue;
      const t = figures.slice(); t[i] = figures[j]; t[j] = figures[i];
      const v = Number(t.join(""));
      if (Math.abs(v - mid) <= half / 2 + 1e-9) return v;
    }
    return null;
  }

  /* After three readings at one peg: both tapes and the check. Which one explains the rest, or a move. */
  function three(act, typed) {
    const row = act.row, tapes = row.tapes, causes = [1, 2, 0.1, 0.2];
    const off = tapes.map((tape, i) => typed[i] - tape.mid);
    const slip = (d) => causes.find((c) => Math.abs(Math.abs(d) - c) <= 0.02);
    for (let i = 0; i < tapes.length; i++) {
      const cause = slip(off[i]);
      const rest = off.every((d, k) => k === i || Math.abs(d) <= tapes[k].slack);
      if (cause && rest) return { kind: "which", head: (tapes[i].tape ? "Tape " + tapes[i].tape : "The check") + " is " + show(cause) + " out",
        lines: ["It reads " + show(typed[i]) + " from " + tapes[i].at + ". It should read " + tapes[i].text + ".", "Cross the tapes again. Drive " + row.peg + ". Check from " + act.check.start + "."] };
    }
    let xx = 0, xy = 0, yy = 0, bx = 0, by = 0;
    tapes.forEach((tape, i) => { const w = 1 / (tape.slack * tape.slack); xx += w * tape.ux * tape.ux; xy += w * tape.ux * tape.uy; yy += w * tape.uy * tape.uy; bx += w * tape.ux * off[i]; by += w * tape.uy * off[i]; });
    const det = xx * yy - xy * xy;
    if (det > 1e-9) {
      const dx = (yy * bx - xy * by) / det, dy = (xx * by - xy * bx) / det, by5 = Math.round(Math.hypot(dx, dy) * 200) * 5;
      const fits = tapes.every((tape, i) => Math.abs(off[i] - tape.ux * dx - tape.uy * dy) <= tape.slack);
      if (fits && by5 >= 5 && by5 <= 500) {
        const back = Math.atan2(-dy, -dx);
        let best = null, turn = 22 * Math.PI / 180;
        work.marks.forEach((mark) => {
          const way = Math.atan2(mark.y - row.y, mark.x - row.x), gap = Math.abs(Math.atan2(Math.sin(way - back), Math.cos(way - back)));
          if (gap <= turn) { turn = gap; best = mark; }
        });
        const to = best ? "toward " + best.name + (best.word ? " (" + best.word + ")" : "") : (Math.abs(dx) > Math.abs(dy) ? (dx > 0 ? "to the left of the drawing" : "to the right of the drawing") : (dy > 0 ? "down the drawing" : "up the drawing"));
        return { kind: "move", head: "Move " + row.peg + " " + (work.feet ? show(by5 / 1000) : by5 + " mm"), lines: [to + ". Check again."] };
      }
    }
    return { kind: "neither", head: "STOP", lines: ["A mark or a peg is not where it was. Go to the last page of the paper."] };
  }

  /* -- building screens ----------------------------------------------------------------------------------- */
  const app = document.createElement("div"); app.id = "app"; document.body.insertBefore(app, document.body.firstChild);
  function el(tag, attributes, ...children) {
    const node = document.createElement(tag);
    Object.entries(attributes || {}).forEach(([name, value]) => {
      if (name === "onclick" || name === "oninput" || name === "onchange" || name === "onkeydown") node[name] = value;
      else if (value !== null && value !== false) node.setAttribute(name, value === true ? "" : value);
    });
    children.flat(Infinity).forEach((child) => { if (child !== null && child !== undefined) node.append(child); });
    return node;
  }
  function picture(name, sentence, tall) {
    const text = work.pictures[name];
    if (!text) return null;
    const holder = document.createElement("div"); holder.innerHTML = text;
    const svg = holder.firstElementChild;
    svg.setAttribute("class", "picture" + (tall ? " tall" : "")); svg.setAttribute("role", "img"); svg.setAttribute("aria-label", sentence);
    return svg;
  }
  function screen(tab, title, under, body, foot, plan) {
    const head = el("div", { id: "head" }, tab ? el("div", { class: "tab" }, tab) : null,
      el("div", { class: "where" }, el("b", {}, title), el("span", {}, under)),
      plan === false ? null : el("button", { onclick: () => go(-2), "aria-label": "Plan of the whole garden" }, "Plan"));
    const main = el("main", { id: "body" }, remembers ? null : el("p", { class: "warning" }, "This phone will not remember your ticks. Write them on the paper, or send them before you close."), body);
    app.replaceChildren(head, main, el("div", { id: "foot" }, foot));
    const focus = main.querySelector("h1"); if (focus) { focus.tabIndex = -1; focus.focus({ preventScroll: true }); }
    window.scrollTo(0, 0);
  }
  const back = (to) => el("button", { class: "back", onclick: () => go(to) }, "Back");
  const act = (words, run, off) => el("button", { class: "act", onclick: run, "aria-disabled": off ? "true" : null }, words);
  function go(at) { kept.at = at; keep(); draw(); awake(); }
  function tick(a, how) { kept.ticks[id(a)] = how || "good"; keep(); }

  function start() {
    const total = acts.filter((a) => !atEnd(a)), good = total.filter(done).length;
    const next = acts.findIndex((a) => !done(a));
    const target = next < 0 ? acts.length - 1 : next;
    const shapes = work.chapters.map((chapter) => {
      const mine = acts.filter((a) => a.chapter === chapter), made = mine.filter(done).length;
      const first = acts.indexOf(mine.find((a) => !done(a)) || mine[0]);
      return el("li", {}, el("button", { onclick: () => go(first) }, el("span", { class: "tab" }, chapter.number || "E"),
        el("span", {}, chapter.name + (mine.length === made ? ": all ticked" : ": " + made + " of " + mine.length + " ticked"))));
    });
    const gates = acts.map((a, n) => atEnd(a) ? el("li", {}, el("button", { onclick: () => go(n) },
      el("span", { class: "tab" }, a.gate ? "G" + a.gate.number : "L"), el("span", {}, a.gate ? a.gate.title : work.heights.title))) : null);
    screen("", work.title, work.number, [
      el("h1", {}, "Pegging out: " + work.title),
      el("div", { class: "revision" }, el("div", { class: "letter" }, work.revision || "–"), el("div", {}, "The paper must show revision " + (work.revision || "–") + ", " + work.date + ". Other letter? Stop: one is old.")),
      el("p", {}, good + " of " + total.length + " pegs and checks ticked"),
      el("div", { class: "bar", role: "img", "aria-label": good + " of " + total.length }, el("i", { style: "width:" + Math.round(100 * good / Math.max(1, total.length)) + "%" })),
      work.cautions.map((words) => el("p", { class: "warning" }, words)),
      el("h2", {}, "Shapes, in the order of work"), el("ul", { class: "list" }, shapes),
      el("h2", {}, "Gates"), el("ul", { class: "list" }, gates),
      el("div", { class: "row-buttons" },
        el("button", { onclick: () => go(-3) }, "Send the readings"),
        el("button", { onclick: () => { kept.settings.left = !kept.settings.left; root.classList.toggle("lefthand"); keep(); } }, "Left hand: swap the foot"),
        el("button", { onclick: () => { kept.settings.night = !kept.settings.night; root.classList.toggle("night"); keep(); } }, "Night: white on black")),
    ], [act("Go on: " + label(acts[target]), () => go(target))]);
  }
  function label(a) {
    if (!a) return "the gates";
    if (atEnd(a)) return a.gate ? a.gate.title : work.heights.title;
    return a.step ? "step " + a.step.number + (a.kind === "check" ? ", check" : "") : (a.kind === "edge" ? "draw the edge of " : "measure ") + a.chapter.name;
  }
  function readings(a) {
    return a.step.hooks.map((hook, i) => {
      const value = hook.reading || a.row.readings[i] || "", far = hook.paces || "";
      const on = [hook.lead + (hook.at ? " " + hook.at : ""), hook.word ? el("small", {}, hook.word) : null];
      return el("div", { class: "reading" }, el("div", { class: "tape" }, String(hook.tape)), el("div", { class: "on" }, on),
        el("div", { class: "value" }, value, far ? el("small", {}, far) : null));
    });
  }
  function sentence(line, hand) {
    const parts = line.split(new RegExp("\\b(" + hand + ")\\b"));
    return el("p", {}, parts.map((part) => part === hand ? el("span", { class: "hand" + (hand === "RIGHT" ? " right" : "") }, part) : part));
  }
  function strip(a) {
    if (a.step.rows.length < 2) return null;
    return el("ul", { class: "strip", "aria-label": "Pegs of this step" }, a.step.rows.map((row, i) => {
      const state = kept.ticks["peg " + row.peg];
      return el("li", { class: (state === "not good" ? "bad " : state ? "done " : "") + (i === a.index ? "now" : "") }, row.peg);
    }));
  }
  function where(a) {
    const rows = a.step ? a.step.rows.length : 0;
    return "step " + a.step.number + " of " + work.steps + (rows > 1 ? ", peg " + (a.index + 1) + " of " + rows : "");
  }
  function drive(a, n) {
    const many = a.step.rows.length > 1, hand = a.step.hand || "LEFT";
    const picked = picture(a.step.picture, a.step.sentence);
    const lines = (a.row.toward ? ["In line with " + a.row.toward + "."] : []).concat(a.step.once, a.step.each);
    screen(a.chapter.number || "E", a.chapter.name, where(a), [
      el("h1", {}, many ? "Drive peg " + a.row.peg : a.step.title), el("p", {}, many ? a.step.what : a.step.what),
      a.step.cautions.map((words) => el("p", { class: "warning" }, words)),
      strip(a), readings(a), lines.map((line) => sentence(line, hand)), picked,
      el("div", { class: "row-buttons" }, el("button", { onclick: () => hold(a) }, "Hold up the numbers")),
    ], [back(n - 1), act(acts[n + 1] && acts[n + 1].kind === "check" && acts[n + 1].row === a.row ? "Driven: now check" : "Driven: next peg", () => { tick(a); go(n + 1); })]);
  }
  function edge(a, n) {
    screen(a.chapter.number || "E", a.chapter.name, "draw the edge", [
      el("h1", {}, "Draw the edge"), a.chapter.edges.map((line) => el("p", {}, line)),
      el("p", {}, "The sand must touch every peg. Leave the centre pegs in."),
    ], [back(n - 1), act("Drawn: go on", () => { tick(a); go(n + 1); })]);
  }
  function hold(a) {
    const dialog = el("dialog", { class: "hold" });
    const rows = a.step.hooks.map((hook, i) => el("div", {}, el("small", {}, hook.tape + " " + (hook.at || "out") + "  "), hook.reading || a.row.readings[i] || ""));
    dialog.append(el("div", { class: "turned" }, rows), el("button", { onclick: () => { dialog.close(); dialog.remove(); } }, "Close"));
    document.body.append(dialog); if (dialog.showModal) dialog.showModal(); else dialog.setAttribute("open", "");
  }
  function readingsOf(check) { return kept.readings.filter((r) => r.from === check.start && r.to === check.end); }
  function check(a, n) {
    const c = a.check, past = readingsOf(c), name = id(a);
    const box = el("div", { role: "status", "aria-live": "assertive" });
    const input = el("input", { class: "field", inputmode: work.feet ? "text" : "decimal", autocomplete: "off", "aria-label": "I read, from " + c.start + " to " + c.end });
    const next = act("Tick, next step", () => { if (next.getAttribute("aria-disabled")) return; go(n + 1); }, !kept.ticks[name]);
    const more = el("div", { class: "row-buttons" });
    function say(result) {
      box.replaceChildren(el("div", { class: "answer " + (result.kind === "good" ? "good" : result.kind === "stop" || result.kind === "neither" ? "stop" : "not") },
        el("b", {}, result.head), result.lines.map((line) => el("p", {}, line))));
    }
    function ask() {
      const before = past.length ? past[past.length - 1].metres : null, result = answer(input.value, c, before);
      if (result.kind !== "empty") {
        const entry = { from: c.start, to: c.end, reading: show(result.r), metres: result.r, when: new Date().toISOString() };
        past.push(entry); kept.readings.push(entry);
        if (result.kind === "good") { tick(a); next.removeAttribute("aria-disabled"); } else { delete kept.ticks[name]; next.setAttribute("aria-disabled", "true"); }
        keep();
      }
      say(result); input.blur(); box.firstChild.tabIndex = -1; box.firstChild.focus({ preventScroll: true });
      more.replaceChildren(...(result.kind === "stop" && a.row && a.row.tapes ? [el("button", { onclick: () => threeScreen(a, n) }, "Read all tapes at the peg")] : []),
        ...(result.kind !== "good" && result.kind !== "empty" ? [el("button", { onclick: () => force(a, n) }, "… Go on without tick")] : []));
    }
    input.onkeydown = (event) => { if (event.key === "Enter") { event.preventDefault(); event.stopPropagation(); ask(); } };
    const landmark = c.word ? el("p", {}, c.word) : null;
    screen(a.chapter.number || "E", a.chapter.name, a.step ? where(a) : c.head, [
      el("h1", {}, "Measure " + c.start + " to " + c.end), c.sentence ? el("p", {}, c.sentence) : null, landmark, c.proves ? el("p", {}, c.proves) : null,
      el("p", {}, "good from ", el("span", { class: "range" }, c.low + " to " + c.high)), input,
      el("div", { class: "row-buttons" }, el("button", { class: "act", onclick: ask }, "Is it good?")), box, more,
      past.length ? el("p", {}, "Read before: " + past.map((r) => r.reading).join(", ")) : null,
    ], [back(n - 1), next]);
  }
  function force(a, n) {
    if (!window.confirm("Go on without a tick? The step is marked not good, here and in what you send.")) return;
    kept.ticks[id(a)] = "not good"; keep(); go(n + 1);
  }
  function threeScreen(a, n) {
    const inputs = a.row.tapes.map((tape) => el("input", { class: "field", inputmode: work.feet ? "text" : "decimal", "aria-label": "from " + tape.at }));
    const box = el("div", { role: "status", "aria-live": "assertive" });
    function judge() {
      const typed = inputs.map((input) => parse(input.value));
      const result = typed.some((v) => !(v >= 0)) ? { kind: "empty", head: "Type all the numbers", lines: ["As the tapes show them, at the peg as it stands."] } : three(a, typed);
      typed.forEach((v, i) => { if (v >= 0) kept.readings.push({ from: a.row.tapes[i].at, to: a.row.peg, reading: show(v), metres: v, when: new Date().toISOString() }); });
      keep();
      box.replaceChildren(el("div", { class: "answer " + (result.kind === "neither" ? "stop" : "not") }, el("b", {}, result.head), result.lines.map((line) => el("p", {}, line))));
    }
    screen(a.chapter.number || "E", a.chapter.name, "peg " + a.row.peg + " as it stands", [
      el("h1", {}, "Read all tapes at " + a.row.peg), a.row.tapes.map((tape, i) => [el("p", {}, (tape.tape ? "Tape " + tape.tape : "Check") + ", from " + tape.at), inputs[i]]),
      el("div", { class: "row-buttons" }, el("button", { class: "act", onclick: judge }, "What is wrong?")), box,
    ], [back(n), act("Done: check again", () => go(n))]);
  }
  function openTicks(g) { return g.ticks.filter((_, i) => !(kept.gates[g.number] || {})["t" + i]).length + g.checks.filter((c) => !kept.ticks["check " + c.start + " " + c.end]).length; }
  function gateScreen(a, n) {
    const g = a.gate, state = kept.gates[g.number] = kept.gates[g.number] || {};
    const next = act("", () => { if (!next.getAttribute("aria-disabled")) { if (n + 1 < acts.length) go(n + 1); else go(-1); } });
    function update() {
      const open = openTicks(g);
      next.textContent = open ? open + " still to tick" : "All ticked: go on";
      if (open) next.setAttribute("aria-disabled", "true"); else next.removeAttribute("aria-disabled");
    }
    const ticks = g.ticks.map((words, i) => el("label", { class: "tick" }, el("input", { type: "checkbox", checked: !!state["t" + i], onchange: (event) => { state["t" + i] = event.target.checked; keep(); update(); } }), el("span", {}, words)));
    const rows = g.checks.map((c) => {
      const box = el("div", { role: "status", "aria-live": "polite" }), past = readingsOf(c), name = "check " + c.start + " " + c.end;
      const input = el("input", { class: "field", inputmode: work.feet ? "text" : "decimal", autocomplete: "off", "aria-label": "I read, from " + c.start + " to " + c.end });
      const ask = () => {
        const result = answer(input.value, c, past.length ? past[past.length - 1].metres : null);
        if (result.kind !== "empty") {
          const entry = { from: c.start, to: c.end, reading: show(result.r), metres: result.r, when: new Date().toISOString() };
          past.push(entry); kept.readings.push(entry);
          if (result.kind === "good") kept.ticks[name] = "good"; else delete kept.ticks[name];
          keep(); update();
        }
        box.replaceChildren(el("div", { class: "answer " + (result.kind === "good" ? "good" : result.kind === "stop" ? "stop" : "not") }, el("b", {}, result.head), result.lines.map((line) => el("p", {}, line))));
      };
      input.onkeydown = (event) => { if (event.key === "Enter") { event.preventDefault(); event.stopPropagation(); ask(); } };
      return el("div", {}, el("h2", {}, (kept.ticks[name] ? "✓ " : "") + c.start + " to " + c.end), c.proves ? el("p", {}, c.proves) : null,
        el("p", {}, "good from ", el("span", { class: "range" }, c.low + " to " + c.high)), input,
        el("div", { class: "row-buttons" }, el("button", { onclick: ask }, "Is it good?")), box);
    });
    screen("G" + g.number, g.title, g.under, [el("h1", {}, g.head), g.warnings.map((words) => el("p", { class: "warning" }, words)), ticks, rows,
      el("p", {}, g.stop)], [back(n - 1), next]);
    update();
  }
  const heightTicks = () => kept.gates.L = kept.gates.L || {};
  const heightRows = () => work.heights.tops.map((t) => ["top " + t.peg, t.peg, t.way + " " + t.start, t.reading])
    .concat(work.heights.built.map((b) => ["built " + b.element + " " + b.what, b.what, b.element + ": " + b.way + " " + b.peg + b.good, b.reading]));
  function openHeights() { return heightRows().filter((row) => !heightTicks()[row[0]]).length; }
  function heightsScreen(a, n) {
    const next = act("", () => { if (!next.getAttribute("aria-disabled")) go(n + 1 < acts.length ? n + 1 : -1); });
    function update() {
      const open = openHeights();
      next.textContent = open ? open + " still to tick" : "All ticked: go on";
      if (open) next.setAttribute("aria-disabled", "true"); else next.removeAttribute("aria-disabled");
    }
    const rows = heightRows().map(([name, what, how, value]) => el("label", { class: "tick reading height" },
      el("input", { type: "checkbox", checked: !!heightTicks()[name], onchange: (event) => { heightTicks()[name] = event.target.checked; keep(); update(); } }),
      el("div", { class: "on" }, el("b", {}, what), el("small", {}, how)), el("div", { class: "value" }, value)));
    const tops = rows.slice(0, work.heights.tops.length), built = rows.slice(work.heights.tops.length);
    screen("L", work.heights.title, "after the dig, pegs found again", [el("h1", {}, work.heights.title), work.heights.how.map((words) => el("p", {}, words)),
      tops, built.length ? [el("h2", {}, work.heights.head), built, el("p", {}, work.heights.keep)] : null], [back(n - 1), next]);
    update();
  }
  function plan() {
    const shapes = work.chapters.map((chapter) => el("li", {}, el("button", { onclick: () => go(acts.findIndex((a) => a.chapter === chapter)) }, el("span", { class: "tab" }, chapter.number || "E"), el("span", {}, chapter.name))));
    screen("", work.title, "the whole garden", [el("h1", {}, "Plan"), picture("plan", "The whole garden from above, house at the bottom, each shape with its number.", true), el("ul", { class: "list" }, shapes)],
      [el("button", { class: "back", onclick: () => go(-1) }, "Start page"), act("Back to the step", () => go(lastAct))], false);
  }
  function send() {
    const quote = (text) => /[",\n]/.test(text) ? '"' + text.replace(/"/g, '""') + '"' : text;
    const rows = kept.readings.map((r) => [r.from, r.to, r.reading, r.when].map(quote).join(","));
    const notGood = Object.keys(kept.ticks).filter((name) => kept.ticks[name] === "not good");
    const text = "from,to,reading,when\n" + rows.map((row) => row + "\n").join("");
    const area = el("textarea", { readonly: true, "aria-label": "The readings" }, text);
    const said = el("p", { role: "status" });
    const file = el("input", { type: "file", accept: ".csv,text/csv", "aria-label": "Put back from a file", onchange: (event) => {
      const reader = new FileReader();
      reader.onload = () => { const n = putBack(String(reader.result)); said.textContent = n + " readings put back."; area.value = area.value; };
      if (event.target.files[0]) reader.readAsText(event.target.files[0]);
    } });
    screen("", work.title, "readings of this phone", [el("h1", {}, "Send the readings"),
      notGood.length ? el("p", { class: "warning" }, "Not good: " + notGood.join("; ")) : null, area, said,
      el("div", { class: "row-buttons" },
        el("button", { onclick: () => { area.select(); let copied = false; try { copied = document.execCommand("copy"); } catch (refused) { copied = false; } said.textContent = copied ? "Copied." : "Hold a finger on the text and choose Copy."; } }, "Copy"),
        el("button", { onclick: () => { const link = el("a", { href: "data:text/csv;charset=utf-8," + encodeURIComponent(text), download: "readings.csv" }); document.body.append(link); link.click(); link.remove(); said.textContent = "Saved as readings.csv."; } }, "Save as a file")),
      el("h2", {}, "Put back from a file"), file], [el("button", { class: "back", onclick: () => go(-1) }, "Back"), act("Done", () => go(-1))]);
  }
  function putBack(text) {
    let count = 0;
    text.split(/\r?\n/).slice(1).forEach((line) => {
      const cells = []; line.replace(/("((?:[^"]|"")*)"|[^,]*)(,|$)/g, (_, cell, quoted) => { cells.push(quoted !== undefined ? quoted.replace(/""/g, '"') : cell); return ""; });
      const [from, to, reading, when] = cells, metres = reading ? parse(reading) : NaN;
      if (!from || !to || !(metres >= 0) || kept.readings.some((r) => r.from === from && r.to === to && r.when === when)) return;
      kept.readings.push({ from, to, reading, metres, when: when || "" }); count++;
      const a = acts.find((x) => x.kind === "check" && x.check.start === from && x.check.end === to);
      if (a && metres >= a.check.lo - 1e-9 && metres <= a.check.hi + 1e-9) { tick(a); const drove = acts.find((x) => x.kind === "drive" && x.row === a.row); if (drove) tick(drove); }
    });
    keep();
    return count;
  }
  let lastAct = 0;
  function draw() {
    const n = kept.at;
    if (n === -2) return plan();
    if (n === -3) return send();
    if (n < 0 || n >= acts.length) { kept.at = -1; return start(); }
    lastAct = n;
    const a = acts[n];
    if (a.kind === "gate") return gateScreen(a, n);
    if (a.kind === "heights") return heightsScreen(a, n);
    if (a.kind === "edge") return edge(a, n);
    return a.kind === "drive" ? drive(a, n) : check(a, n);
  }
  document.addEventListener("keydown", (event) => {
    if (event.target.tagName === "INPUT" || event.target.tagName === "TEXTAREA" || event.target.tagName === "BUTTON" && event.key === "Enter") return;
    const main = document.querySelector("#foot .act"), backTo = document.querySelector("#foot .back");
    if ((event.key === "Enter" || event.key === "ArrowRight") && main) main.click();
    if (event.key === "ArrowLeft" && backTo) backTo.click();
    if (event.key === "p" || event.key === "P") go(-2);
  });
  let lock = null;
  function awake() {
    if (!navigator.wakeLock || document.visibilityState !== "visible" || lock) return;
    navigator.wakeLock.request("screen").then((held) => { lock = held; held.addEventListener("release", () => { lock = null; }); }, () => { lock = null; });
  }
  document.addEventListener("visibilitychange", awake);
  window.pegging = { answer, acts, three, parse, show };
  kept.at = -1;
  draw();
}());
