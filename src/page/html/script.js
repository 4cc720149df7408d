// What every page has: small tools, what opens behind a judged figure, charts, search. It asks nothing of any server, and words
// of the files go into the page as text only, never as markup. The other scripts stand behind it where they are needed:
// days.js (the picture by the day), answer.js (a comparison at other prices), sizes.js (sizes of a pond).
"use strict";
document.documentElement.classList.add("alive");

const page = (() => {
  const $ = (id) => document.getElementById(id);
  const SVG = "http://www.w3.org/2000/svg";
  function el(tag, about, ...children) {
    const made = document.createElement(tag);
    for (const [name, value] of Object.entries(about || {})) if (value !== undefined) made.setAttribute(name, value);
    made.append(...children.filter((child) => child !== undefined && child !== null));
    return made;
  }
  function draw(tag, about) {
    const made = document.createElementNS(SVG, tag);
    for (const [name, value] of Object.entries(about)) made.setAttribute(name, value);
    return made;
  }
  /** Groups of three, a true minus, so many digits. */
  function grouped(value, digits) {
    const [whole, rest] = Math.abs(value).toFixed(digits).split(".");
    const text = whole.replace(/\B(?=(\d{3})+$)/g, "\u202f") + (rest ? "." + rest : "");
    return (value < 0 && /[1-9]/.test(text) ? "\u2212" : "") + text;
  }
  const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
  const utc = (text) => Date.parse(text + "T00:00:00Z");
  const iso = (first, day) => new Date(utc(first) + day * 864e5).toISOString().slice(0, 10);
  function dated(text) {
    const [year, month, day] = text.split("-").map(Number);
    return `${day} ${MONTHS[month - 1]} ${year}`;
  }
  const HOW = { m: "metered", s: "sampled", c: "computed", a: "assumed" };
  /** A table; a cell is words, an element, or [words, letter of the basis]. The first cell of a row is its head. */
  function table(caption, heads, rows) {
    const cell = (words, at) => {
      if (Array.isArray(words)) {
        const shown = words[1] === "a" ? `[${words[0]}]` : words[0];
        return el("td", { class: "n", title: HOW[words[1]] }, "ca".includes(words[1]) ? el("i", {}, shown) : shown);
      }
      return at === 0 ? el("th", { scope: "row" }, words) : el("td", {}, words);
    };
    const body = rows.map((row) => el("tr", row.sum ? { class: "sum" } : {}, ...row.map(cell)));
    const head = el("tr", {}, ...heads.map((words, at) => {
      const figures = rows.some((row) => Array.isArray(row[at]));
      return el("th", { scope: "col", class: figures ? "n" : undefined }, words);
    }));
    const made = el("table", {}, el("caption", {}, caption), el("thead", {}, head), el("tbody", {}, ...body));
    return el("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": caption }, made);
  }
  /** Rows that are shown unfolded. */
  const MOST = 200;
  /** A table whose rows beyond the first stand folded below it. */
  function long(caption, heads, rows, made = (row) => row) {
    const first = table(caption, heads, rows.slice(0, MOST).map(made));
    const rest = rows.length - MOST;
    return rest > 0 ? el("div", {}, first, folded(`${rest} more`, () => long(`${caption}, after the first ${MOST}`, heads, rows.slice(MOST), made))) : first;
  }
  const folded = (title, make) => {
    const made = el("details", { class: "behind" }, el("summary", {}, title));
    made.addEventListener("toggle", () => {
      if (made.children.length === 1) made.append(make());
      if (made.open) made.scrollIntoView({ block: "nearest" });
    });
    return made;
  };
  /** Part and date of the address: #PART, or #PART@DAY. */
  function here() {
    let hash = location.hash.slice(1);
    try { hash = decodeURIComponent(hash); } catch { /* As it stands. */ }
    return hash.split("@");
  }
  let data = null;
  /** First the page, then what moves on it: runs with the page's data after the first frame. */
  const later = (run) => requestAnimationFrame(() => setTimeout(() => run((data ??= JSON.parse($("data").textContent)))));
  return { $, MONTHS, HOW, el, draw, grouped, utc, iso, dated, table, long, folded, here, later };
})();

// Contents beside the text stand open; above it they would be in the way.
if (matchMedia("(min-width: 64rem)").matches) page.$("contents")?.setAttribute("open", "");

page.later((data) => {
  const { $, MONTHS, el, draw, grouped, utc, iso, dated, table, long, folded, here } = page;
  const days = data.days;

  // --- What a judged figure comes from ---------------------------------------------------------------------------------
  const working = $("working");
  // Beside contents and search, which stay of use; where there is no room for both, over all.
  const beside = matchMedia("(min-width: 64rem)");
  function windowRow([label, outcome, figure, basis, arithmetic, evidence, missing]) {
    const letter = basis ? basis[0] : "-";
    const list = (words) => words.length > 1 ? el("ul", {}, ...words.map((line) => el("li", {}, line))) : el("div", {}, ...words);
    const rests = evidence.map(([day, text, place, paper]) =>
      `${day}: ${text}${place || paper ? " (" + [place, paper].filter(Boolean).join(", paper ") + ")" : ""}`);
    return [label, outcome, [figure || "–", letter], el("div", {},
      arithmetic.length ? list(arithmetic) : null,
      rests.length > 3 ? folded(`${rests.length} records`, () => list(rests)) : rests.length ? list(rests) : null,
      missing.length ? list(missing.map((words) => "Missing: " + words)) : null)];
  }
  function openWorking(id) {
    const found = data.workings.find((one) => one.id === id);
    if (!found) return;
    $("working-title").textContent = found.title;
    const body = $("working-body");
    const heads = ["When", "Outcome", "Figure", "Arithmetic, record and paper"];
    const counts = new Map();
    for (const [, outcome] of found.windows) counts.set(outcome, (counts.get(outcome) ?? 0) + 1);
    const counted = counts.size > 1 ? `Of ${found.windows.length}: ${[...counts].map(([outcome, count]) => `${count} ${outcome}`).join(", ")}.` : "";
    const order = counts.size > 1 ? "The worst first; each outcome's others by date" : "The worst first, the others by date";
    body.replaceChildren(el("p", {}, found.words), el("p", {}, counted), long(order, heads, found.windows, windowRow));
    working.scrollTop = 0;
    if (working.open) return;
    if (beside.matches) { working.show(); } else working.showModal();
  }
  addEventListener("keydown", (event) => { if (event.key === "Escape" && working.open && event.target !== $("search")) working.close(); });
  // Shut, one is back where one came from; who came by a mailed address stays at the limit.
  let cameFromHere = false;
  working.addEventListener("close", () => {
    const [part] = here();
    if (!part.startsWith("working-")) return;
    if (cameFromHere) history.back(); else location.replace("#" + part.slice(8));
  });
  function follow(first) {
    const [part] = here();
    if (!part.startsWith("working-")) { if (working.open) working.close(); return; }
    cameFromHere = !first;
    openWorking(part.slice(8));
  }
  addEventListener("hashchange", () => follow(false));
  follow(true);

  // --- Charts: values under the pointer and by arrow keys, the table behind ---------------------------------------------
  for (const box of document.querySelectorAll(".chart")) {
    const chart = data.charts[box.dataset.chart];
    const readout = box.nextElementSibling;
    const svg = box.querySelector("svg");
    let at = -1;
    const name = (place) => (chart.first ? dated(iso(chart.first, place)) : chart.names[place]);
    const tell = (place) => {
      at = Math.max(0, Math.min(chart.count - 1, place));
      const words = chart.columns.filter((column) => column.values[at] !== null && column.values[at] !== undefined).map((column) =>
        `${column.name} ${told(column, at)} ${column.unit} (${column.basis})`);
      readout.textContent = `${name(at)}: ${words.join("; ") || "nothing on file"}.`;
      const x = chart.left + ((at + 0.5) / chart.count) * (chart.right - chart.left);
      let line = svg.querySelector(".at");
      if (!line) svg.append((line = draw("line", { class: "at", y1: 0, y2: svg.viewBox.baseVal.height })));
      line.setAttribute("x1", x);
      line.setAttribute("x2", x);
    };
    box.addEventListener("pointermove", (event) => {
      const frame = svg.getBoundingClientRect();
      const x = ((event.clientX - frame.left) / frame.width) * svg.viewBox.baseVal.width;
      if (x >= chart.left && x <= chart.right) tell(Math.floor(((x - chart.left) / (chart.right - chart.left)) * chart.count));
    });
    box.addEventListener("keydown", (event) => {
      const step = { ArrowLeft: -1, ArrowRight: 1, PageUp: -30, PageDown: 30, Home: -1e9, End: 1e9 }[event.key];
      if (step) { tell(at + step); event.preventDefault(); }
    });
  }
  const plain = (value) => grouped(value, Math.min(6, (String(value).split(".")[1] || "").length));
  function told(column, at) {
    const range = column.ranges[at];
    return plain(column.values[at]) + (range ? ` (${plain(range[0])} to ${plain(range[1])})` : "");
  }
  for (const behind of document.querySelectorAll("details[data-chart]")) {
    behind.addEventListener("toggle", () => {
      if (behind.children.length > 1) return;
      const chart = data.charts[behind.dataset.chart];
      const rows = Array.from({ length: chart.count }, (_, at) => [
        chart.first ? dated(iso(chart.first, at)) : chart.names[at],
        ...chart.columns.map((column) => [column.values[at] === null || column.values[at] === undefined ? "–" : told(column, at), column.basis[0]]),
      ]);
      const heads = [chart.first ? "Day" : "Class", ...chart.columns.map((column) => column.name + (column.unit ? ", " + column.unit : ""))];
      behind.append(table("The values drawn", heads, rows));
    });
  }

  // --- Search --------------------------------------------------------------------------------------------------------------
  let index = null;
  const NAMED = "january february march april june july august september october november december".split(" ");
  // Figures are found however they are grouped: 372 601, 372,601, 372601.
  const ungrouped = (words) => words.toLowerCase().replace(/(?<!\d)\d{1,3}(?:[\s\u00a0\u2009\u202f,]\d{3})+(?!\d)/g, (figure) => figure.replace(/\D/g, ""));
  /** The heading that a part stands below. */
  function headOf(node) {
    const above = [...document.querySelectorAll("main h2[id], main h3[id]")].filter((head) => head.compareDocumentPosition(node) & 4);
    return above[above.length - 1];
  }
  function indexed() {
    const list = [];
    const add = (words, part, kind, node, around = "") => list.push({ words, low: ungrouped(words), part, kind, node, around });
    if (days) days.nodes.slice(0, days.places).forEach((name, at) => add(name, days.ids[at], "place"));
    data.workings.forEach((one) => add(one.title, one.id, "limit"));
    for (const head of document.querySelectorAll("main h2[id], main h3[id]")) add(head.textContent, head.id, "heading");
    if (days) days.bands.forEach((band) => add(band[1], band[0], "way"));
    // Rows and sentences, each under the heading it stands below and in the table that it is of; of a calendar its months' sums.
    let head = null;
    const [sums, captions, rows] = [[], [], []];
    const told = (node) => [...node].map((cell) => cell.textContent.trim().replace(/\s+/g, " "));
    for (const calendar of document.querySelectorAll("main figure table")) {
      const [heads, name] = [told(calendar.tHead.rows[0].cells), told(calendar.closest("figure").querySelectorAll("figcaption"))[0]];
      if (heads[0] !== "Month" || heads.length < 33) continue;
      for (const row of calendar.tBodies[0].rows) {
        const of = told(row.cells).map((words, at) => `${heads[at]} ${words}`).slice(32).join("; ");
        sums.push([`${name.split(",")[0]}, ${row.cells[0].textContent}: ${of}`, calendar.closest("figure"), null]);
      }
    }
    for (const node of document.querySelectorAll("main h2[id], main h3[id], main caption, main tbody tr, main p, main li, main dd")) {
      if (/^H/.test(node.tagName)) head = node;
      else if (head && !node.closest("form, figure, dialog, .days, .size:not(.shown)")) {
        // What a list explains is found by its name too.
        const name = node.tagName === "DD" && node.previousElementSibling?.tagName === "DT" ? [node.previousElementSibling] : [];
        const words = told(node.tagName === "TR" ? node.cells : [...name, node]).join(" | ");
        if (words.length > 2) (node.tagName === "CAPTION" ? captions : rows).push([words, node, head]);
      }
    }
    const around = new Map();
    const about = (node, under) => {
      const of = node.closest("table") || under;
      if (!around.has(of)) around.set(of, ungrouped(`${under.textContent} ${of.caption?.textContent ?? ""}`));
      return around.get(of);
    };
    const put = (list) => {
      for (const [words, node, under] of list) {
        const heading = under ?? headOf(node);
        if (heading) add(words, heading.id, heading.textContent, node, about(node, heading));
      }
    };
    put(sums);
    put(captions);
    if (days) {
      const [known, dates] = [new Set(), []];
      for (const [at, name, what, , , , paper, note] of days.records) {
        const number = days.texts[paper];
        const date = (dates[at] ??= iso(days.first, at));
        const words_ = `${number ? "paper " + number + ": " : ""}${[dated(date), days.texts[name], days.texts[what]].filter(Boolean).join(", ")}${days.texts[note] ? " (" + days.texts[note] + ")" : ""}`;
        if (!known.has(words_)) { known.add(words_); add(words_, `${days.site}@${date}`, "record", $("opened")); }
      }
    }
    put(rows);
    return list;
  }
  /** A day named in what is asked, and the other words. */
  function day_(text) {
    const named = text.match(/(?<!\d)(\d{1,2}) ([a-z]{3})[a-z]* (\d{4})(?!\d)/i);
    const month = named ? MONTHS.findIndex((name) => name.toLowerCase() === named[2].toLowerCase()) + 1 : 0;
    const written = month ? named[0] : text.match(/\d{4}-\d\d-\d\d/)?.[0];
    const date = month ? `${named[3]}-${String(month).padStart(2, "0")}-${named[1].padStart(2, "0")}` : written;
    const at = date && days ? (utc(date) - utc(days.first)) / 864e5 : -1;
    return at >= 0 && at < days.count ? [date, text.replace(written, " ")] : [null, text];
  }
  /** Whether words name a day, by itself or within a span of its month: 9 Dec 2023, 9-10 Dec 2023. */
  function namesDay(date) {
    const [year, month, day] = date.split("-").map(Number);
    const named = new RegExp(`(?<!\\d)(\\d{1,2})(?:[-\u2013](\\d{1,2}))? ${MONTHS[month - 1].toLowerCase()} ${year}(?!\\d)|${date}`, "g");
    return (words) => [...words.matchAll(named)].some(([, from, to]) => from === undefined || (Number(from) <= day && day <= Number(to ?? from)));
  }
  // What one says of a question and no line has. A limit opens with its worst, so it stands for the lowest and the highest too.
  const SAID = new Set("a about an and any at be been biggest both by could did do does each for from give given had has have highest how i if in is it its largest least lowest many me most much my no not of on or said say says should smallest so tell than that the them then there they this to us was we were what when which who whom with worst would you your".split(" "));
  // What people say for what stands on the page under another word.
  const SAME = "cloudburst=storm downpour=storm thunderstorm=storm rainfall=rain overflow=spill overtop=spill breach=exceed violation=exceed broken=exceed backwash=wash rinsing=rinse basin=pond lagoon=pond reservoir=pond laboratory=lab analysi=sample receipt=ticket manifest=ticket hauled=ticket visit=look walk=look faulty=broken mud=sludge sediment=solids turbidity=solids";
  const OTHER = new Map(SAME.split(" ").map((pair) => pair.split("=")));
  /** So much of a long line as shows what was found in it. */
  const MOST_LETTERS = 200;
  /** Letters of a line at which what is found in it tells half as much. */
  const LONG = 900;
  function cut(words, terms) {
    if (words.length <= MOST_LETTERS) return words;
    const last = Math.max(...terms.map((term) => words.toLowerCase().indexOf(term)));
    const from = last < MOST_LETTERS - 40 ? 0 : Math.min(last - 100, words.length - MOST_LETTERS);
    return (from ? "…" : "") + words.slice(from, from + MOST_LETTERS) + (from + MOST_LETTERS < words.length ? "…" : "");
  }
  let most = 30;
  function search() {
    const asked = ungrouped($("search").value.trim());
    index = index || indexed();
    const [date, others] = day_(asked);
    const split = (words) => words.split(/[\s?!;:"()]+|[,.](?!\d)/).filter(Boolean);
    const parted = (words) => {
      // Months are written with three letters; what is asked of several is found of one.
      const one = (term) => (NAMED.includes(term) ? term.slice(0, 3) : /[^s]{3}s$/.test(term) ? term.slice(0, -1) : term);
      const all = split(words).map(one).map((term) => (OTHER.has(term) && !index.some((line) => line.low.includes(term)) ? OTHER.get(term) : term));
      const telling = all.filter((term) => !SAID.has(term));
      return telling.length || date ? telling : all;
    };
    // A day is one word of what is asked, however it is written.
    const terms = [...parted(others), ...(date ? [dated(date).toLowerCase()] : [])];
    // A number is found whole: 17 is not within 617613, nor 6.4 within 106.4.
    const tests = terms.map((term) => /^\d+(\.\d+)?$/.test(term) ? new RegExp("(?<!\\d)(?<!\\d\\.)" + term.replace(".", "\\.") + "(?!\\d)") : null);
    const onDay = date ? namesDay(date) : null;
    const has = (words, term, at) => (onDay && at === terms.length - 1 ? onDay(words) : tests[at] ? tests[at].test(words) : words.includes(term));
    const itself = (one) => terms.every((term, at) => has(one.low, term, at));
    // Some words of a row and some of its table's or heading's name.
    const among = (one) => one.around && terms.some((term, at) => has(one.low, term, at)) &&
      terms.every((term, at) => has(one.low, term, at) || has(one.around, term, at));
    const found = terms.length ? index.filter(itself) : [];
    if (terms.length > 1) { const known = new Set(found); found.push(...index.filter((one) => !known.has(one) && among(one))); }
    // Where nothing has all of the words, what has those that tell most: a word tells the more the fewer lines have it.
    let lacking = "";
    if (!found.length && terms.length > 1) {
      const begins = terms.map((term, at) => tests[at] || (onDay && at === terms.length - 1) ? null : new RegExp("(?<![a-z0-9])" + term.replace(/[^\w\s]/g, "\\$&")));
      const begun = (words, term, at) => (begins[at] ? begins[at].test(words) : has(words, term, at));
      const tells = terms.map((term, at) => Math.log(1 + index.length / (1 + index.filter((one) => begun(one.low, term, at)).length)));
      const score = (one) => terms.reduce((sum, term, at) => sum + tells[at] * (begun(one.low, term, at) ? 1 : begun(one.around, term, at) ? 0.5 : 0), 0);
      const scored = index.map((one) => [score(one) / (1 + one.low.length / LONG), one]).sort((a, b) => b[0] - a[0]);
      found.push(...scored.slice(0, 15).filter(([of]) => of > scored[0][0] / 2).map(([, one]) => one));
      lacking = found.length ? "nothing has all of these words; those that have most: " : "";
    }
    if (date) {
      const named = terms.slice(0, -1);
      const places = named.length ? index.filter((one) => one.kind === "place" && named.every((term) => one.low.includes(term))) : [];
      found.unshift(...places.map((one) => ({ words: `${one.words}, ${dated(date)}`, part: `${one.part}@${date}`, kind: "place on a day" })),
        { words: dated(date), part: `${days.site}@${date}`, kind: "day" });
    }
    const link = (one) => {
      const to = el("a", { href: "#" + one.part }, cut(one.words, terms));
      const block = one.kind === "record" ? "start" : "center";
      to.addEventListener("click", () => {
        $("found").querySelector("[aria-current]")?.removeAttribute("aria-current");
        to.setAttribute("aria-current", "true");
        if (one.node) setTimeout(() => one.node.scrollIntoView({ block }));
      });
      return el("li", {}, to, el("span", { class: "small" }, one.kind));
    };
    const rest = el("button", { type: "button" }, `Show all ${found.length}`);
    rest.addEventListener("click", () => { most = Infinity; search(); most = 30; });
    $("found").replaceChildren(...found.slice(0, most).map(link), ...(found.length > most ? [el("li", {}, rest)] : []));
    $("found-count").textContent = terms.length ? lacking + `${found.length} found${found.length > most ? `, the first ${most} shown` : ""}` : "";
  }
  $("search")?.addEventListener("focus", () => { setTimeout(() => { index = index || indexed(); }); });
  $("search")?.addEventListener("input", search);
  $("search")?.form.addEventListener("submit", (event) => { event.preventDefault(); $("found").querySelector("a")?.click(); });

  // --- A page that is made anew takes itself anew when one comes back to it, and keeps its place ---------------------------
  if (document.body.hasAttribute("data-watched")) {
    const KEY = "place of " + location.pathname;
    let away = false;
    addEventListener("blur", () => { away = true; });
    addEventListener("focus", () => {
      if (!away) return;
      sessionStorage.setItem(KEY, String(scrollY));
      location.reload();
    });
    const place = sessionStorage.getItem(KEY);
    sessionStorage.removeItem(KEY);
    if (place) addEventListener("load", () => scrollTo(0, Number(place)));
  }

  // Behind what the other scripts do at first.
  setTimeout(() => { performance.mark("ready"); document.documentElement.classList.add("ready"); });
});
