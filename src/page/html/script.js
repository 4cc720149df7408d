// The page's one script: the picture by the day, what opens behind a figure, search, charts. It asks nothing of any server.
// Words of the files go into the page as text only, never as markup.
"use strict";
(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const days = data.days;
  const $ = (id) => document.getElementById(id);
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  const SVG = "http://www.w3.org/2000/svg";
  document.documentElement.classList.add("alive");

  // --- Small tools ---------------------------------------------------------------------------------------------------
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
  /** A table; a cell is words, an element, or [words, letter of the basis]. The first cell of a row is its head. */
  function table(caption, heads, rows) {
    const cell = (words, at) => {
      if (Array.isArray(words)) {
        const known = { m: "metered", s: "sampled", c: "computed", a: "assumed" }[words[1]];
        const shown = words[1] === "a" ? `[${words[0]}]` : words[0];
        return el("td", { class: "n", title: known }, "ca".includes(words[1]) ? el("i", {}, shown) : shown);
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
  const MOST = 200;
  /** A table whose rows beyond the first stand folded below it. */
  function long(caption, heads, rows, made = (row) => row) {
    const first = table(caption, heads, rows.slice(0, MOST).map(made));
    const rest = rows.length - MOST;
    return rest > 0 ? el("div", {}, first, folded(`${rest} more`, () => long(`${caption}, after the first ${MOST}`, heads, rows.slice(MOST), made))) : first;
  }
  const folded = (title, make) => {
    const made = el("details", { class: "behind" }, el("summary", {}, title));
    made.addEventListener("toggle", () => { if (made.children.length === 1) made.append(make()); });
    return made;
  };

  // Contents beside the text stand open; above it they would be in the way.
  if (matchMedia("(min-width: 64rem)").matches) $("contents")?.setAttribute("open", "");

  // --- Addresses: #PART, or #PART@DAY ----------------------------------------------------------------------------------
  function here() {
    let hash = "";
    try { hash = decodeURIComponent(location.hash.slice(1)); } catch { hash = location.hash.slice(1); }
    const [part, date] = hash.split("@");
    const day = days && /^\d{4}-\d\d-\d\d$/.test(date || "") ? (utc(date) - utc(days.first)) / 864e5 : -1;
    return { part, day: days && day >= 0 && day < days.count ? day : null };
  }
  const address = (part, day) => "#" + part + (day === null ? "" : "@" + iso(days.first, day));

  // --- What a judged figure comes from ---------------------------------------------------------------------------------
  const working = $("working");
  function windowRow([label, outcome, figure, basis, arithmetic, evidence, missing]) {
    const letter = basis ? basis[0] : "-";
    const list = (words) => el("ul", {}, ...words.map((line) => el("li", {}, line)));
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
    body.replaceChildren(el("p", {}, found.words), long("Every window", heads, found.windows, windowRow));
    if (!working.open) working.showModal();
  }
  // Shut, one is back where one came from; who came by a mailed address stays at the limit.
  let cameFromHere = false;
  working.addEventListener("close", () => {
    const { part } = here();
    if (!part.startsWith("working-")) return;
    if (cameFromHere) history.back(); else location.replace("#" + part.slice(8));
  });

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

  // --- The days: packed series ------------------------------------------------------------------------------------------
  // NaN is what is not known; 0.4 is more than nothing that is printed as nought.
  const read = new Map();
  function words(packed) {
    let list = read.get(packed);
    if (!list) {
      list = [];
      for (const token of packed ? packed.split(",") : []) {
        const [word, times] = token.split("*");
        for (let i = 0; i < (times ? Number(times) : 1); i++) list.push(word);
      }
      read.set(packed, list);
    }
    return list;
  }
  const figures = new Map();
  function values(packed) {
    let list = figures.get(packed);
    if (!list) {
      list = Float64Array.from(words(packed), (word) => (word === "?" ? NaN : word === "~" ? 0.4 : parseInt(word, 36)));
      read.delete(packed);
      figures.set(packed, list);
    }
    return list;
  }
  /** A figure of a scale [unit, digits] in words. */
  function said(value, [unit, digits], withUnit) {
    const tail = withUnit ? "\u00a0" + unit : "";
    if (Number.isNaN(value) || value === undefined) return "not shown";
    if (value > 0 && value < 1) return "< " + grouped(10 ** -digits, digits) + tail;
    return grouped(Math.round(value) / 10 ** digits, digits) + tail;
  }
  const mass = (value, basis) => (value === 0 ? ["–", "-"] : [said(value, days.mass), basis]);
  const weaker = (a, b) => ("acsm".indexOf(a) < 0 ? b : "acsm".indexOf(b) < 0 || "acsm".indexOf(a) < "acsm".indexOf(b) ? a : b);
  const [FROM, TO, PURPOSE, WATER, WATER_BASIS, SOLIDS, SOLIDS_BASIS] = [0, 1, 2, 3, 4, 5, 6];
  /** Water or solids of some of the ledger's ways on a day, and how they are known. */
  function moved(ways, what, day) {
    let [sum, basis] = [0, "-"];
    for (const way of ways) {
      sum += values(days.ways[way][what])[day];
      basis = weaker(basis, words(days.ways[way][what + 1])[day]);
    }
    return [sum, basis];
  }

  // --- The picture by the day --------------------------------------------------------------------------------------------
  let day = null;
  let subject = null;
  let player = null;
  const slider = $("day");
  const pictures = [...document.querySelectorAll("svg.site")];
  const parts = { ways: [], labels: [], stores: [], filters: [], signs: [], figures: [] };
  const captions = pictures.slice(0, 1).map((svg) => svg.closest("figure").querySelector("figcaption")).map((caption) => ({ caption, whole: caption.textContent }));
  const WIDEST = 8;
  let widest = 0;

  /** What the day's drawing is made of, once. */
  function prepare() {
    const most = new Float64Array(days.count);
    for (const svg of pictures) {
      // The bands of a day lie in a layer of their own, so that broad ones can lie above thin ones whatever the day.
      const layer = draw("g", { class: "day" });
      svg.dataset.whole = svg.getAttribute("height");
      for (const link of svg.querySelectorAll("a.way")) {
        const points = link.dataset.path.split(" ").map((pair) => pair.split(",").map(Number));
        const ways = days.bands[link.dataset.way][3];
        for (const way of ways) values(days.ways[way][WATER]).forEach((value, at) => { if (value > most[at]) most[at] = value; });
        const group = draw("g", {});
        const line = (name) => { const made = draw("polyline", { class: name, points: link.dataset.path }); group.append(made); return made; };
        const one = { link, ways, group, layer, width: 0, gap: line("gap"), edge: line("edge"), fill: line("fill"), rungs: line("rungs"), solids: link.classList.contains("solids") };
        one.tip = draw("polygon", { class: "tip" });
        group.append(one.tip);
        one.end = points.slice(-2);
        link.append(draw("polyline", { class: "touch", points: link.dataset.path }));
        group.classList.add(...link.classList);
        for (const [event, lit] of [["pointerenter", true], ["pointerleave", false], ["focus", true], ["blur", false]]) {
          link.addEventListener(event, () => one.group.classList.toggle("lit", lit));
        }
        parts.ways.push(one);
        layer.append(group);
      }
      const first = svg.querySelector("a.way");
      if (first) svg.insertBefore(layer, first);
      for (const group of svg.querySelectorAll(".label")) {
        const text = draw("text", { class: "day", x: group.dataset.x, y: group.dataset.y, "text-anchor": "middle" });
        group.append(text);
        parts.labels.push({ text, ways: days.bands[group.dataset.way][3], solids: days.bands[group.dataset.way][2] === "solids" });
      }
      for (const link of svg.querySelectorAll("a.place")) {
        const node = Number(link.dataset.node);
        const own = [...link.querySelectorAll(".own text")].map((text) => ({ text, whole: text.textContent, style: text.getAttribute("font-style") }));
        const store = days.stores.find((one) => one[0] === node);
        const filter = days.filters.find((one) => one[0] === node);
        if (store && link.dataset.area) {
          const [x, y, width, height] = link.dataset.area.split(" ").map(Number);
          const level = draw("rect", { class: "store-level day", x, width, y: y + height, height: 0 });
          link.insertBefore(level, link.children[1] || null);
          parts.stores.push({ store, level, y, height });
        }
        if (filter) parts.filters.push({ filter, link });
        if (own.length) parts.figures.push({ own, store, filter });
        for (const sign of link.querySelectorAll(".sign")) {
          const text = sign.querySelector("text");
          const other = days.signs[sign.dataset.words];
          const between = (from, to) => days.ways.flatMap((way, at) => (way[FROM] === from && way[TO] === to ? [at] : []));
          if (text && other !== undefined) parts.signs.push({ text, whole: text.textContent, style: text.getAttribute("font-style"), into: between(other, node), out: between(node, other), net: sign.dataset.words.startsWith("unaccounted") });
        }
      }
    }
    const sorted = Array.from(most).filter((value) => value > 0).sort((a, b) => a - b);
    widest = sorted.length ? sorted[Math.floor(0.95 * (sorted.length - 1))] : 0;
  }
  /** A volume on the picture, short: it has no room for more. */
  function short(value) {
    if (Number.isNaN(value)) return "?";
    const shown = value / days.drawn[1];
    return value > 0 && shown < 0.05 ? "< 0.1" : grouped(shown, Math.abs(shown) >= 100 ? 0 : 1);
  }
  function dayCaption() {
    const scale = widest > 0 ? `Bands are as wide as their water, the widest stand for ${said((10 / WIDEST) * widest, days.volume, true)} or more. ` : "";
    return `Figures are ${days.drawn[0]} of the day, of solids ${days.mass[0]} of dry solids. ${scale}Filled or plain: water; rungs or dashes: wash water; dots: solids; dash and dot: spill or bypass; grey: nothing booked that day. A place fills with what it holds of what it can; a heavy frame: it was washed or changed.`;
  }
  function set(text, figure, basis) {
    text.textContent = basis === "a" ? `[${figure}]` : figure;
    if ("ca".includes(basis)) text.setAttribute("font-style", "italic"); else text.removeAttribute("font-style");
  }
  function restore({ text, whole, style }) {
    text.textContent = whole;
    if (style) text.setAttribute("font-style", style); else text.removeAttribute("font-style");
  }
  function drawDay() {
    for (const svg of pictures) {
      // The key of the whole period's widths is no key of a day's: the caption has that.
      const height = day === null ? svg.dataset.whole : svg.dataset.map;
      svg.setAttribute("viewBox", `0 0 ${svg.getAttribute("width")} ${height}`);
      svg.setAttribute("height", height);
      svg.classList.toggle("by-day", day !== null);
    }
    for (const one of captions) one.caption.textContent = day === null ? one.whole : dayCaption();
    if (day === null) {
      for (const one of [...parts.signs, ...parts.figures.flatMap((figure) => figure.own)]) restore(one);
      for (const { link } of parts.filters) link.classList.remove("washed");
      return;
    }
    for (const one of parts.ways) {
      const [water] = moved(one.ways, WATER, day);
      const [solids] = moved(one.ways, SOLIDS, day);
      const flows = Number.isNaN(water) || water > 0 || (one.solids && solids > 0);
      const scaled = widest > 0 && water > 0 && !one.solids ? (water / widest) * WIDEST : 0;
      const width = flows ? Math.max(1.2, Math.min(10, scaled)) : 0.5;
      const band = width >= 2.4;
      one.width = width;
      one.group.classList.toggle("none", !flows);
      one.group.classList.toggle("thin", !band);
      one.gap.setAttribute("stroke-width", flows ? width + 4.2 : 0);
      one.edge.setAttribute("stroke-width", band ? width + 1.2 : width);
      one.fill.setAttribute("stroke-width", band ? width : 0);
      one.rungs.setAttribute("stroke-width", !band ? 0 : one.link.classList.contains("wash") ? width : one.link.classList.contains("spill") ? 1 : 0);
      const [[x, y], [u, v]] = one.end;
      const long = Math.hypot(u - x, v - y) || 1;
      const [dx, dy] = [(u - x) / long, (v - y) / long];
      const half = band ? width / 2 + 2.2 : flows ? 2.5 : 2;
      one.tip.setAttribute("points", `${u},${v} ${u - 6 * dx - half * dy},${v - 6 * dy + half * dx} ${u - 6 * dx + half * dy},${v - 6 * dy - half * dx}`);
    }
    const order = [...parts.ways].sort((a, b) => a.width - b.width);
    if (order.some((one, at) => one !== parts.order?.[at])) for (const one of order) one.layer.append(one.group);
    parts.order = order;
    for (const one of parts.labels) {
      const [value, basis] = moved(one.ways, one.solids ? SOLIDS : WATER, day);
      if (value === 0) one.text.textContent = "";
      else set(one.text, one.solids ? (Number.isNaN(value) ? "?" : said(value, days.mass, true)) : short(value), basis);
    }
    for (const { store, level, y, height } of parts.stores) {
      const [volume, full] = [values(store[3])[day], values(store[1])[0]];
      const share = full > 0 && volume >= 0 ? Math.min(1, volume / full) : 0;
      level.setAttribute("y", y + height * (1 - share));
      level.setAttribute("height", height * share);
      level.classList.toggle("spills", share >= 1);
    }
    for (const { filter, link } of parts.filters) link.classList.toggle("washed", values(filter[2])[day] > 0);
    for (const { own, store, filter } of parts.figures) {
      own.slice(1).forEach((one) => { one.text.textContent = ""; });
      const first = own[0].text;
      if (store && store[5]) set(first, said(values(store[5])[day], days.level, true), words(store[4])[day]);
      else if (store) set(first, said(values(store[3])[day], days.volume, true), words(store[4])[day]);
      else if (filter) set(first, events(filter, day), words(filter[3])[day]);
    }
    for (const one of parts.signs) {
      const [came, a] = moved(one.into, WATER, day);
      const [went, b] = moved(one.out, WATER, day);
      const value = one.net ? came - went : came + went;
      set(one.text, (one.net && value > 0 ? "+" : "") + short(value), value === 0 ? "-" : weaker(a, b));
    }
  }
  function events(filter, at) {
    const count = values(filter[2])[at];
    if (Number.isNaN(count)) return "not shown";
    return `${grouped(count, 0)} ${filter[1]}${count === 1 ? "" : filter[1] === "wash" ? "es" : "s"}`;
  }

  // --- The day in words, and what is opened ------------------------------------------------------------------------------
  const ends = days ? [FROM, TO].map((end) => Map.groupBy(days.ways.keys(), (at) => days.ways[at][end])) : [];
  const starting = (node) => ends[FROM].get(node) || [];
  const ending = (node) => ends[TO].get(node) || [];
  function dayWords() {
    if (day === null) return `The whole period: ${dated(days.first)} to ${dated(iso(days.first, days.count - 1))}.`;
    const told = [`${dated(iso(days.first, day))}.`];
    const rain = values(days.rain)[day];
    told.push(Number.isNaN(rain) ? "Rain not known." : rain > 0 ? `Rain ${said(rain, days.rainUnit, true)}.` : "No rain.");
    const left = days.leaves.map((node) => [node, moved(ending(node), WATER, day)]).filter(([, [value]]) => value !== 0);
    told.push(left.length
      ? "Left the site: " + left.map(([node, [value, basis]]) => `${days.nodes[node]} ${said(value, days.volume, true)}${known(basis)}`).join(", ") + "."
      : "No water booked to an outfall.");
    for (const store of days.stores.filter((one) => one[5])) told.push(`${days.nodes[store[0]]} ${said(values(store[5])[day], days.level, true)}.`);
    const washed = days.filters.filter((filter) => values(filter[2])[day] > 0);
    if (washed.length) told.push(washed.map((filter) => `${days.nodes[filter[0]]}: ${events(filter, day)}`).join(", ") + ".");
    return told.join(" ");
  }
  const known = (basis) => ({ m: " (metered)", s: " (sampled)", c: " (computed)", a: " (assumed)" }[basis] || "");
  const link = (words, part, at) => el("a", { href: address(part, at === undefined ? day : at) }, words);
  const node = (index) => (index < days.places ? link(days.nodes[index], days.ids[index]) : days.nodes[index]);
  function paper(at) {
    if (!at) return "";
    const [file, line, number] = at;
    return `${days.files[file]}${line ? " " + line : ""}${number ? ", paper " + number : ""}`;
  }
  function entries(title, ways, at) {
    const rows = ways.map((way) => {
      const of = days.ways[way];
      const [water, solids] = [values(of[WATER])[at], values(of[SOLIDS])[at]];
      if (water === 0 && solids === 0 && words(of[WATER_BASIS])[at] !== "m") return null;
      return [node(of[FROM]), node(of[TO]), of[PURPOSE], [said(water, days.volume), words(of[WATER_BASIS])[at]], mass(solids, words(of[SOLIDS_BASIS])[at])];
    }).filter(Boolean);
    if (!rows.length) return el("p", {}, "No entry on this day.");
    return table(title, ["From", "To", "What for", `Water, ${days.volume[0]}`, `Solids, ${days.mass[0]}`], rows);
  }
  /** A place's day: what it held, what came, what went, what it holds; the sum is done again here. */
  function account(index) {
    const held = days.held.find((one) => one[0] === index);
    const series = held ? values(held[1]) : null;
    const rows = [];
    let sum = series ? series[day] : 0;
    if (series) rows.push(["Held at the day’s opening", "", [said(series[day], days.volume), "c"], ["", "-"]]);
    for (const [ways, sign, end] of [[ending(index), 1, FROM], [starting(index), -1, TO]]) {
      for (const way of ways) {
        const of = days.ways[way];
        const [water, solids] = [values(of[WATER])[day], values(of[SOLIDS])[day]];
        if (water === 0 && solids === 0 && words(of[WATER_BASIS])[day] !== "m") continue;
        sum += sign * water;
        rows.push([el("span", {}, sign > 0 ? "+ from " : "\u2212 to ", node(of[end])), of[PURPOSE], [said(water, days.volume), words(of[WATER_BASIS])[day]], mass(solids, words(of[SOLIDS_BASIS])[day])]);
      }
    }
    if (!rows.length) return el("p", {}, "No entry on this day.");
    const closing = series ? series[day + 1] : 0;
    const last = [series ? "= held at the day’s close" : "= left over", "", [said(closing, days.volume), "c"], ["", "-"]];
    last.sum = true;
    rows.push(last);
    const off = Math.abs(sum - closing);
    const note = Number.isNaN(off) ? "Something of it is not known, so it is not added up." : off < 0.5 ? "It adds up." : off <= rows.length ? "It adds up within rounding." : "Its entries and what it held do not add up.";
    return el("div", {}, table(`${days.nodes[index]} on ${dated(iso(days.first, day))}`, ["Term", "What for", `Water, ${days.volume[0]}`, `Solids, ${days.mass[0]}`], rows), el("p", { class: "small" }, note), methods());
  }
  function methods() {
    const at = (start, text) => { const found = document.querySelector(`[id^="${start}"]`); return found ? el("a", { href: "#" + found.id }, text) : null; };
    const links = [at("annex-methods", "how it is computed"), at("annex-assum", "what was assumed")].filter(Boolean);
    return el("p", { class: "small" }, "Upright: metered or sampled. Italic: computed. [In brackets]: assumed. ", ...links.flatMap((one, at) => (at ? ["; ", one] : [one])));
  }
  function onFile(title, records, spans) {
    const rows = records.map(([, name, what, , at, note]) => [name, what, paper(at), note]);
    for (const [meter, from, to, first, count, counted, before, after] of spans) {
      const span = count === 1 ? dated(iso(days.first, first)) : `${dated(iso(days.first, first))} and ${count - 1} more day${count > 2 ? "s" : ""}`;
      rows.push([meter, `${days.nodes[from]} to ${days.nodes[to]}: ${counted}, ${span}`, [paper(before), paper(after)].filter(Boolean).join(" to "), ""]);
    }
    return rows.length ? long(title, ["Of", "What it says", "File, line and paper", "Who, and note"], rows) : el("p", {}, "Nothing on file.");
  }
  const records = days ? days.records.map(([at, name, what, mark, file, line, number, note]) => [at, days.texts[name], days.texts[what], mark, [file, line, days.texts[number]], days.texts[note]]) : [];
  const byDay = Map.groupBy(records, (record) => record[0]);
  const covers = (span) => day !== null && span[3] <= day && day < span[3] + span[4];

  /** A line of the days with its most; the day shown is marked. */
  function line(title, list, scale, marks) {
    const most = Math.max(...Array.from(list).filter((value) => value >= 0), ...marks.map((mark) => mark[1]), 0);
    if (!(most > 0)) return null;
    const height = (value) => 58 - (value / most) * 54;
    let [path, pen] = ["", "M"];
    list.forEach((value, at) => {
      if (Number.isNaN(value)) { pen = "M"; return; }
      path += `${pen}${at + 0.5} ${height(value).toFixed(1)}`;
      pen = "L";
    });
    const svg = draw("svg", { class: "line", viewBox: `0 0 ${days.count} 60`, preserveAspectRatio: "none", role: "img", "aria-label": title });
    svg.append(draw("path", { class: "foot", d: `M0 58H${days.count}` }), draw("path", { class: "values", d: path }));
    for (const [, value] of marks) svg.append(draw("path", { class: "mark", d: `M0 ${height(value)}H${days.count}` }));
    if (day !== null) svg.append(draw("path", { class: "at", d: `M${day + 0.5} 0V60` }));
    const top = list.indexOf(Math.max(...Array.from(list).filter((value) => value >= 0)));
    const words = [`${title}: most ${said(list[top], scale, true)}, `, link(dated(iso(days.first, top)), subject ? subject.id : days.site, top), ...marks.map(([name, value]) => `; dashed: ${name} ${said(value, scale, true)}`), "."];
    return el("figure", {}, svg, el("figcaption", {}, ...words));
  }
  /** Months of the days, each with what a list of columns adds up to. */
  function months(title, columns) {
    const rows = [];
    for (let at = 0; at < days.count; at++) {
      const [year, month] = iso(days.first, at).split("-").map(Number);
      const name = `${MONTHS[month - 1]} ${year}`;
      if (!rows.length || rows[rows.length - 1].name !== name) rows.push({ name, first: at, sums: columns.map(() => 0), basis: columns.map(() => "-") });
      const row = rows[rows.length - 1];
      columns.forEach(([, ways, what], column) => {
        const [value, basis] = moved(ways, what, at);
        row.sums[column] += value;
        row.basis[column] = weaker(row.basis[column], basis);
      });
    }
    const scale = (what) => (what === WATER ? days.volume : days.mass);
    return table(title, ["Month", ...columns.map(([name, , what]) => `${name}, ${scale(what)[0]}`)], rows.map((row) => [
      link(row.name, subject.id, row.first), ...row.sums.map((sum, at) => [said(sum, scale(columns[at][2])), row.basis[at]])]));
  }
  const sums = new Map();
  function summed(ways) {
    const key = ways.join();
    if (!sums.has(key)) sums.set(key, Float64Array.from({ length: days.count }, (_, at) => moved(ways, WATER, at)[0]));
    return sums.get(key);
  }

  function openPlace(index, into) {
    const name = days.nodes[index];
    const store = days.stores.find((one) => one[0] === index);
    const filter = days.filters.find((one) => one[0] === index);
    if (day !== null) {
      into.push(account(index));
      if (filter && values(filter[2])[day] > 0) into.push(el("p", {}, `${events(filter, day)}${known(words(filter[3])[day])}, set off by: ${words(filter[4])[day] || "not told"}.`));
      const meters = days.spans.filter((span) => covers(span) && (span[1] === index || span[2] === index));
      const names = new Set([name, ...meters.map((span) => span[0])]);
      into.push(onFile("On file for this day", (byDay.get(day) || []).filter((record) => names.has(record[1])), meters));
    }
    if (days.notShown[index]) into.push(el("p", {}, days.notShown[index]));
    const level = store && store[5] && line(`Level of ${name}`, values(store[5]), days.level, store[2] ? [["spills at", values(store[2])[0]]] : []);
    into.push(level, !level && store && line(`Held by ${name}`, values(store[3]), days.volume, [["full at", values(store[1])[0]]]));
    if (!store) into.push(line(`Water that came to ${name}, a day`, summed(ending(index)), days.volume, []));
    if (filter) into.push(line(`${filter[1] === "wash" ? "Washes" : "Changes"} of ${name}, a day`, values(filter[2]), ["", 0], []));
    into.push(folded("By month", () => months(`${name}, by month`, [["Water in", ending(index), WATER], ["Water out", starting(index), WATER], ["Solids in", ending(index), SOLIDS], ["Solids out", starting(index), SOLIDS]])));
    into.push(folded("Everything on file for it", () => onFile(`On file for ${name}`, records.filter((record) => record[1] === name), [])));
  }
  function openWay(band, into) {
    const [, words_, , ways] = band;
    const [from, to] = [days.ways[ways[0]][FROM], days.ways[ways[0]][TO]];
    if (day !== null) {
      into.push(entries(`${words_} on ${dated(iso(days.first, day))}`, ways, day), methods());
      into.push(onFile("Metered on this way", [], days.spans.filter((span) => covers(span) && span[1] === from && span[2] === to)));
    }
    into.push(line(`Water from ${days.nodes[from]} to ${days.nodes[to]}, a day`, summed(ways), days.volume, []));
    into.push(folded("By month", () => months(`${words_}, by month`, [["Water", ways, WATER], ["Solids", ways, SOLIDS]])));
  }
  function openDay(into) {
    into.push(onFile("On file for this day", byDay.get(day) || [], days.spans.filter(covers)));
    into.push(folded("Every entry of the ledger on this day", () => entries(`The ledger on ${dated(iso(days.first, day))}`, days.ways.map((_, at) => at), day)));
  }
  function drawOpened() {
    const into = [];
    if (subject) {
      const shut = el("a", { href: address(days.site, day) }, "Close");
      into.push(el("h3", {}, subject.words, day === null ? "" : `, ${dated(iso(days.first, day))}`, " "), el("p", { class: "small" }, shut, day === null ? ". Move the slider for the entries of a day." : ""));
      if (subject.node !== undefined) openPlace(subject.node, into); else openWay(subject.band, into);
    } else if (day !== null) {
      into.push(el("h3", {}, dated(iso(days.first, day))));
      openDay(into);
    }
    // What was unfolded stays unfolded from day to day.
    const open = [...$("opened").querySelectorAll("details[open] > summary")].map((summary) => summary.textContent);
    $("opened").replaceChildren(...into.filter(Boolean));
    for (const summary of $("opened").querySelectorAll("details > summary")) if (open.includes(summary.textContent)) summary.parentElement.open = true;
  }

  let settling = 0;
  /** The picture at once; what is opened when the hand rests, unless it is to be there at once. */
  function show(whole) {
    slider.value = day === null ? slider.value : day;
    slider.setAttribute("aria-valuetext", dated(iso(days.first, Number(slider.value))));
    $("whole").setAttribute("aria-pressed", String(day === null));
    drawDay();
    $("day-words").textContent = dayWords();
    clearTimeout(settling);
    if (whole) drawOpened(); else settling = setTimeout(drawOpened, 80);
  }
  let later = 0;
  /** A day by slider, button or play: the address follows when the hand rests. */
  function go(to) {
    day = to === null ? null : Math.max(0, Math.min(days.count - 1, to));
    show(false);
    clearTimeout(later);
    later = setTimeout(() => history.replaceState(null, "", address(subject ? subject.id : days.site, day)), 250);
  }
  function play(on) {
    clearInterval(player);
    player = on ? setInterval(() => (day !== null && day + 1 < days.count ? go(day + 1) : play(false)), calm.matches ? 1000 : 250) : null;
    $("play").setAttribute("aria-pressed", String(on));
    $("play").textContent = on ? "Stop" : "Play";
    // A running picture is not read out day by day.
    $("day-words").setAttribute("aria-live", on ? "off" : "polite");
    if (on) go(day === null || day + 1 >= days.count ? 0 : day);
  }
  function along() {
    const svg = $("along");
    const rain = values(days.rain);
    const most = Math.max(...Array.from(rain).filter((value) => value > 0), 1);
    const path = (name, list) => svg.append(draw("path", { class: name, d: list.join("") }));
    path("rain", Array.from(rain).map((value, at) => (value > 0 ? `M${at + 0.5} 14v${(-13 * value) / most}` : "")));
    const on = (name, height, wanted) => path(name, Array.from({ length: days.count }, (_, at) => (wanted(at) ? `M${at} ${height}h1` : "")));
    const left = days.leaves.map(ending);
    on("left", 18, (at) => left.some((ways) => moved(ways, WATER, at)[0] > 0));
    for (const [name, mark, height] of [["sample", 2, 23], ["look", 1, 28]]) {
      const marked = new Set(records.filter((record) => record[3] === mark).map((record) => record[0]));
      on(name, height, (at) => marked.has(at));
    }
  }
  function apply(first) {
    const { part, day: asked } = here();
    if (part.startsWith("working-")) { cameFromHere = !first; openWorking(part.slice(8)); return; }
    if (working.open) working.close();
    if (!days || !slider) return;
    const at = days.ids.indexOf(part);
    const band = days.bands.find((one) => one[0] === part);
    if (at < 0 && !band && part !== days.site) { if (first) show(true); return; }
    subject = at >= 0 ? { id: part, node: at, words: days.nodes[at] } : band ? { id: part, band, words: band[1] } : null;
    day = asked;
    show(true);
    const target = subject ? $("opened") : $(days.site);
    if (first || part === days.site) $(days.site).scrollIntoView(); else { target.focus({ preventScroll: true }); target.scrollIntoView({ block: "nearest" }); }
  }
  function begin() {
    prepare();
    slider.addEventListener("input", () => { play(false); go(Number(slider.value)); });
    for (const button of document.querySelectorAll("[data-step]")) {
      button.addEventListener("click", () => { play(false); go(day === null ? Number(slider.value) : day + Number(button.dataset.step)); });
    }
    $("play").addEventListener("click", () => play(player === null));
    $("whole").addEventListener("click", () => { play(false); go(null); });
    if ($("jump")) $("jump").addEventListener("change", (event) => { if (event.target.value !== "") { play(false); go(Number(event.target.value)); } });
    // A click on the picture opens what was clicked without moving the page under the hand.
    for (const svg of pictures) {
      svg.addEventListener("click", (event) => {
        const link = event.target.closest("a");
        if (!link) return;
        event.preventDefault();
        history.pushState(null, "", address(link.getAttribute("href").slice(1), day));
        apply(false);
      });
    }
    along();
  }

  // --- Search --------------------------------------------------------------------------------------------------------------
  let index = null;
  function indexed() {
    const list = [];
    const add = (words, part, kind) => list.push({ words, low: words.toLowerCase(), part, kind });
    if (days) {
      days.nodes.slice(0, days.places).forEach((name, at) => add(name, days.ids[at], "place"));
      days.bands.forEach((band) => add(band[1], band[0], "way"));
    }
    data.workings.forEach((one) => add(one.title, one.id, "limit"));
    for (const head of document.querySelectorAll("main h2[id], main h3[id]")) add(head.textContent, head.id, "heading");
    if (days) {
      const [known, dates] = [new Set(), []];
      for (const [at, name, what, , place] of records) {
        const number = place[2] || "";
        const date = (dates[at] ??= iso(days.first, at));
        const words_ = `${number ? "paper " + number + ": " : ""}${dated(date)}, ${name}, ${what}`;
        if (!known.has(words_)) { known.add(words_); add(words_, `${days.site}@${date}`, "record"); }
      }
    }
    return list;
  }
  function day_(text) {
    const named = text.match(/^(\d{1,2}) ([a-z]{3})[a-z]* (\d{4})$/i);
    const month = named ? MONTHS.findIndex((name) => name.toLowerCase() === named[2].toLowerCase()) + 1 : 0;
    const date = month ? `${named[3]}-${String(month).padStart(2, "0")}-${named[1].padStart(2, "0")}` : text;
    const at = /^\d{4}-\d\d-\d\d$/.test(date) && days ? (utc(date) - utc(days.first)) / 864e5 : -1;
    return at >= 0 && at < days.count ? date : null;
  }
  function search() {
    const asked = $("search").value.trim().toLowerCase();
    index = index || indexed();
    const date = day_(asked);
    const terms = asked.split(/\s+/).filter(Boolean);
    const found = terms.length ? index.filter((one) => terms.every((term) => one.low.includes(term))) : [];
    if (date) found.unshift({ words: dated(date), part: `${days.site}@${date}`, kind: "day" });
    $("found").replaceChildren(...found.slice(0, 30).map((one) => el("li", {}, el("a", { href: "#" + one.part }, one.words), el("span", { class: "small" }, one.kind))));
    $("found-count").textContent = terms.length ? `${found.length} found${found.length > 30 ? ", the first 30 shown" : ""}` : "";
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

  // First the page, then what moves on it.
  requestAnimationFrame(() => setTimeout(() => {
    if (days && slider) begin();
    addEventListener("hashchange", () => apply(false));
    apply(true);
    document.documentElement.classList.add("ready");
  }));
})();
