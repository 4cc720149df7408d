// The picture by the day: what moved, what each place held, what is on file, and the slider over the days. All of it is the
// ledger's, read from the page; no figure is reckoned here but sums of what is shown.
"use strict";
page.later(({ days }) => {
  const { $, MONTHS, HOW, el, draw, grouped, utc, iso, dated, table, long, folded, here } = page;
  // A report without its picture has nothing that could move.
  if (!$("day")) return;
  const calm = matchMedia("(prefers-reduced-motion: reduce)");
  // What stands as it stood is not touched: a browser draws anew whatever is.
  const write = (one, words) => { if (one.textContent !== words) one.textContent = words; };
  function put(one, name, value) {
    const known = (one.known ??= {});
    if (known[name] === value) return;
    known[name] = value;
    if (value === null) one.removeAttribute(name); else one.setAttribute(name, value);
  }

  // --- Addresses: #PART, or #PART@DAY ----------------------------------------------------------------------------------
  function asks() {
    const [part, date] = here();
    const day = /^\d{4}-\d\d-\d\d$/.test(date || "") ? (utc(date) - utc(days.first)) / 864e5 : -1;
    return { part, day: day >= 0 && day < days.count ? day : null };
  }
  const address = (part, day) => "#" + part + (day === null ? "" : "@" + iso(days.first, day));

  // --- The days: packed series, each unpacked when it is first asked for ------------------------------------------------
  // How figures are known, the weakest first: a sum is known as its weakest term.
  const LETTERS = "acsm-";
  const NONE = 4;
  function unpacker(List, read) {
    const known = new Map();
    return (packed) => {
      let list = known.get(packed);
      if (list) return list;
      list = new List(days.count + 1);
      let end = 0;
      for (const token of packed ? packed.split(",") : []) {
        const [word, times] = token.split("*");
        const from = end;
        end += times ? Number(times) : 1;
        list.fill(read(word), from, end);
      }
      list = list.slice(0, end);
      known.set(packed, list);
      return list;
    };
  }
  // NaN is what is not known; 0.4 is more than nothing that is printed as nought.
  const values = unpacker(Float64Array, (word) => (word === "?" ? NaN : word === "~" ? 0.4 : parseInt(word, 36)));
  const letters = unpacker(Uint8Array, (word) => LETTERS.indexOf(word));
  const words = unpacker(Array, (word) => word);
  /** A figure of a scale [unit, digits] in words. */
  function said(value, [unit, digits], withUnit) {
    const tail = withUnit && unit ? "\u00a0" + unit : "";
    if (Number.isNaN(value) || value === undefined) return "not shown";
    if (value > 0 && value < 1) return "< " + grouped(10 ** -digits, digits) + tail;
    return grouped(Math.round(value) / 10 ** digits, digits) + tail;
  }
  const mass = (value, letter) => (value === 0 ? ["–", "-"] : [said(value, days.mass), letter]);
  const [FROM, TO, PURPOSE, WATER, WATER_BASIS, SOLIDS, SOLIDS_BASIS] = [0, 1, 2, 3, 4, 5, 6];
  const weaker = (a, b) => LETTERS[Math.min(LETTERS.indexOf(a), LETTERS.indexOf(b))];
  const basis = (packed, at) => LETTERS[letters(packed)[at] ?? NONE];
  /** Water or solids of some of the ledger's ways on a day, and how they are known. */
  function moved(ways, what, day) {
    let [sum, weakest] = [0, NONE];
    for (const way of ways) {
      sum += values(days.ways[way][what])[day];
      weakest = Math.min(weakest, letters(days.ways[way][what + 1])[day] ?? NONE);
    }
    return [sum, LETTERS[weakest]];
  }

  // --- The picture by the day --------------------------------------------------------------------------------------------
  let day = null;
  let subject = null;
  let player = null;
  const slider = $("day");
  // A large site has several sheets; only those in sight are drawn.
  const sheets = [...document.querySelectorAll("svg.site")].map((svg) => ({ svg, inSight: false, ways: [], labels: [], stores: [], filters: [], figures: [], signs: [] }));
  const caption = sheets[0]?.svg.closest("figure").querySelector("figcaption");
  const WIDEST = 8;
  let widest = 0;

  /** A text of the picture, and what it says of the whole period. */
  const kept = (text) => ({ text, whole: text.textContent, style: text.getAttribute("font-style") });
  /** What a day's band is drawn with, in a layer of its own, so that broad ones can lie above thin ones whatever the day. */
  function bandOf(link) {
    const group = draw("g", {});
    const line = (name) => group.appendChild(draw("polyline", { class: name, points: link.dataset.path }));
    const is = (name) => link.classList.contains(name);
    const one = {
      ways: days.bands[link.dataset.way][3], group, gap: line("gap"), edge: line("edge"), fill: line("fill"), rungs: line("rungs"),
      tip: group.appendChild(draw("polygon", { class: "tip" })), solids: is("solids"), wash: is("wash"), spill: is("spill"), width: 0,
      end: link.dataset.path.split(" ").slice(-2).map((pair) => pair.split(",").map(Number)),
    };
    group.classList.add(...link.classList);
    link.append(draw("polyline", { class: "touch", points: link.dataset.path }));
    for (const [event, lit] of [["pointerenter", true], ["pointerleave", false], ["focus", true], ["blur", false]]) {
      link.addEventListener(event, () => group.classList.toggle("lit", lit));
    }
    return one;
  }
  /** What the day's drawing is made of, once. */
  function prepare() {
    const most = new Float64Array(days.count);
    for (const sheet of sheets) {
      const { svg } = sheet;
      svg.dataset.whole = svg.getAttribute("height");
      sheet.layer = draw("g", { class: "day" });
      const links = [...svg.querySelectorAll("a.way")];
      sheet.ways = links.map(bandOf);
      for (const way of sheet.ways.flatMap((one) => one.ways)) {
        values(days.ways[way][WATER]).forEach((value, at) => { if (value > most[at]) most[at] = value; });
      }
      sheet.layer.append(...sheet.ways.map((one) => one.group));
      if (links.length) svg.insertBefore(sheet.layer, links[0]);
      for (const group of svg.querySelectorAll(".label")) {
        const text = group.appendChild(draw("text", { class: "day", x: group.dataset.x, y: group.dataset.y, "text-anchor": "middle" }));
        const band = days.bands[group.dataset.way];
        sheet.labels.push({ text, ways: band[3], solids: band[2] === "solids" });
      }
      for (const link of svg.querySelectorAll("a.place")) {
        const node = Number(link.dataset.node);
        const own = [...link.querySelectorAll(".own text")].map(kept);
        const store = days.stores.find((one) => one[0] === node);
        const filter = days.filters.find((one) => one[0] === node);
        if (store && link.dataset.area) {
          const [x, y, width, height] = link.dataset.area.split(" ").map(Number);
          const level = draw("rect", { class: "store-level day", x, width, y: y + height, height: 0 });
          link.insertBefore(level, link.children[1] || null);
          sheet.stores.push({ store, level, y, height });
        }
        if (filter) sheet.filters.push({ filter, link });
        if (own.length) sheet.figures.push({ own, store, filter });
        for (const sign of link.querySelectorAll(".sign")) {
          const text = sign.querySelector("text");
          const other = days.signs[sign.dataset.words];
          const between = (from, to) => days.ways.flatMap((way, at) => (way[FROM] === from && way[TO] === to ? [at] : []));
          if (text && other !== undefined) sheet.signs.push({ ...kept(text), into: between(other, node), out: between(node, other), net: sign.dataset.words.startsWith("unaccounted") });
        }
      }
      sheet.texts = [...sheet.signs, ...sheet.figures.flatMap((figure) => figure.own)];
    }
    const sorted = most.filter((value) => value > 0).sort();
    widest = sorted.length ? sorted[Math.floor(0.95 * (sorted.length - 1))] : 0;
    const watcher = new IntersectionObserver((entries) => {
      for (const entry of entries) sheets.find((sheet) => sheet.svg === entry.target).inSight = entry.isIntersecting;
      drawDay();
    }, { rootMargin: "25%" });
    for (const sheet of sheets) watcher.observe(sheet.svg);
    addEventListener("beforeprint", () => sheets.forEach(drawSheet));
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
  function set(text, figure, letter) {
    write(text, letter === "a" ? `[${figure}]` : figure);
    put(text, "font-style", "ca".includes(letter) ? "italic" : null);
  }
  function drawDay() {
    if (!caption) return;
    caption.dataset.whole ??= caption.textContent;
    write(caption, day === null ? caption.dataset.whole : dayCaption());
    for (const sheet of sheets) if (sheet.inSight) drawSheet(sheet);
  }
  function drawSheet(sheet) {
    if (sheet.shown === day) return;
    // The key of the whole period's widths is no key of a day's: the caption has that.
    const { svg } = sheet;
    const height = day === null ? svg.dataset.whole : svg.dataset.map;
    put(svg, "viewBox", `0 0 ${svg.getAttribute("width")} ${height}`);
    put(svg, "height", height);
    svg.classList.toggle("by-day", day !== null);
    sheet.shown = day;
    if (day === null) {
      for (const { text, whole, style } of sheet.texts) { write(text, whole); put(text, "font-style", style); }
      for (const { link } of sheet.filters) link.classList.remove("washed");
      return;
    }
    for (const one of sheet.ways) drawBand(one);
    // From the top down: only what lies out of its order is moved.
    let above = null;
    for (const { group } of [...sheet.ways].sort((a, b) => a.width - b.width).reverse()) {
      if (group.nextSibling !== above) sheet.layer.insertBefore(group, above);
      above = group;
    }
    for (const { text, ways, solids } of sheet.labels) {
      const [value, letter] = moved(ways, solids ? SOLIDS : WATER, day);
      if (value === 0) write(text, "");
      else set(text, !solids ? short(value) : Number.isNaN(value) ? "?" : said(value, days.mass, true), letter);
    }
    for (const { store, level, y, height } of sheet.stores) {
      const [volume, full] = [values(store[3])[day], values(store[1])[0]];
      const share = full > 0 && volume >= 0 ? Math.min(1, volume / full) : 0;
      put(level, "y", y + height * (1 - share));
      put(level, "height", height * share);
      level.classList.toggle("spills", share >= 1);
    }
    for (const { filter, link } of sheet.filters) link.classList.toggle("washed", values(filter[2])[day] > 0);
    for (const { own, store, filter } of sheet.figures) {
      own.slice(1).forEach(({ text }) => write(text, ""));
      const first = own[0].text;
      if (store && store[5]) set(first, said(values(store[5])[day], days.level, true), basis(store[4], day));
      else if (store) set(first, said(values(store[3])[day], days.volume, true), basis(store[4], day));
      else if (filter) set(first, events(filter, day), basis(filter[3], day));
    }
    for (const { text, into, out, net } of sheet.signs) {
      const [came, a] = moved(into, WATER, day);
      const [went, b] = moved(out, WATER, day);
      const value = net ? went - came : came + went;
      set(text, (net && value > 0 ? "+" : "") + short(value), value === 0 ? "-" : weaker(a, b));
    }
  }
  function drawBand(one) {
    const [water] = moved(one.ways, WATER, day);
    const flows = Number.isNaN(water) || water > 0 || (one.solids && moved(one.ways, SOLIDS, day)[0] > 0);
    const scaled = widest > 0 && water > 0 && !one.solids ? (water / widest) * WIDEST : 0;
    const width = flows ? Math.max(1.2, Math.min(10, scaled)) : 0.5;
    const band = width >= 2.4;
    one.width = width;
    one.group.classList.toggle("none", !flows);
    one.group.classList.toggle("thin", !band);
    put(one.gap, "stroke-width", flows ? width + 4.2 : 0);
    put(one.edge, "stroke-width", band ? width + 1.2 : width);
    put(one.fill, "stroke-width", band ? width : 0);
    put(one.rungs, "stroke-width", !band ? 0 : one.wash ? width : one.spill ? 1 : 0);
    const [[x, y], [u, v]] = one.end;
    const long = Math.hypot(u - x, v - y) || 1;
    const [dx, dy] = [(u - x) / long, (v - y) / long];
    const half = band ? width / 2 + 2.2 : flows ? 2.5 : 2;
    put(one.tip, "points", `${u},${v} ${u - 6 * dx - half * dy},${v - 6 * dy + half * dx} ${u - 6 * dx + half * dy},${v - 6 * dy - half * dx}`);
  }
  function events(filter, at) {
    const count = values(filter[2])[at];
    if (Number.isNaN(count)) return "not shown";
    return `${grouped(count, 0)} ${filter[1]}${count === 1 ? "" : filter[1] === "wash" ? "es" : "s"}`;
  }

  // --- The day in words, and what is opened ------------------------------------------------------------------------------
  const ends = [FROM, TO].map((end) => Map.groupBy(days.ways.keys(), (at) => days.ways[at][end]));
  const starting = (node) => ends[FROM].get(node) || [];
  const ending = (node) => ends[TO].get(node) || [];
  function dayWords() {
    if (day === null) return `The whole period: ${dated(days.first)} to ${dated(iso(days.first, days.count - 1))}.`;
    const told = [`${dated(iso(days.first, day))}.`];
    const rain = values(days.rain)[day];
    told.push(Number.isNaN(rain) ? "Rain not known." : rain > 0
      ? `Rain ${said(rain, days.rainUnit, true)}${basis(days.rainBasis, day) === "a" ? " (a share of a reading over several days)" : ""}.` : "No rain.");
    const left = days.leaves.map((node) => [node, moved(ending(node), WATER, day)]).filter(([, [value]]) => value !== 0);
    told.push(left.length
      ? "Left the site: " + left.map(([node, [value, letter]]) => `${days.nodes[node]} ${said(value, days.volume, true)}${known(letter)}`).join(", ") + "."
      : "No water booked to an outfall.");
    for (const node of days.sewers) {
      const [value, letter] = moved(ending(node), WATER, day);
      if (value !== 0) told.push(`To ${days.nodes[node]} ${said(value, days.volume, true)}${known(letter)}.`);
    }
    const seen = (byDay.get(day) || []).filter((record) => record[2] === "look: flowing" && !left.some(([node]) => days.nodes[node] === record[1]));
    for (const name of new Set(seen.map((record) => record[1]))) told.push(`${name} was seen flowing; how much is not known.`);
    for (const store of days.stores.filter((one) => one[5])) told.push(`${days.nodes[store[0]]} ${said(values(store[5])[day], days.level, true)}.`);
    const washed = days.filters.filter((filter) => values(filter[2])[day] > 0);
    if (washed.length) told.push(washed.map((filter) => `${days.nodes[filter[0]]}: ${events(filter, day)}`).join(", ") + ".");
    return told.join(" ");
  }
  const known = (letter) => (HOW[letter] ? ` (${HOW[letter]})` : "");
  const link = (words, part, at) => el("a", { href: address(part, at === undefined ? day : at) }, words);
  const node = (index) => (index < days.places ? link(days.nodes[index], days.ids[index]) : days.nodes[index]);
  function paper(at) {
    if (!at) return "";
    const [file, line, text] = at;
    const number = days.texts[text];
    return `${days.files[file]}${line ? " " + line : ""}${number ? ", paper " + number : ""}`;
  }
  function entries(title, ways, at) {
    const rows = ways.map((way) => {
      const of = days.ways[way];
      const [water, solids] = [values(of[WATER])[at], values(of[SOLIDS])[at]];
      if (water === 0 && solids === 0 && basis(of[WATER_BASIS], at) !== "m") return null;
      return [node(of[FROM]), node(of[TO]), of[PURPOSE], [said(water, days.volume), basis(of[WATER_BASIS], at)], mass(solids, basis(of[SOLIDS_BASIS], at))];
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
        if (water === 0 && solids === 0 && basis(of[WATER_BASIS], day) !== "m") continue;
        sum += sign * water;
        rows.push([el("span", {}, sign > 0 ? "+ from " : "\u2212 to ", node(of[end])), of[PURPOSE], [said(water, days.volume), basis(of[WATER_BASIS], day)], mass(solids, basis(of[SOLIDS_BASIS], day))]);
      }
    }
    if (!rows.length) return el("p", {}, "No entry on this day.");
    const day_table = (all) => table(`${days.nodes[index]} on ${dated(iso(days.first, day))}`, ["Term", "What for", `Water, ${days.volume[0]}`, `Solids, ${days.mass[0]}`], all);
    // Where water only comes to, nothing is left over: it is summed.
    if (!series && !starting(index).length) {
      const last = ["In all", "", [said(sum, days.volume), rows[0][2][1]], ["", "-"]];
      last.sum = true;
      rows.push(last);
      return el("div", {}, day_table(rows), methods());
    }
    const closing = series ? series[day + 1] : 0;
    const last = [series ? "= held at the day’s close" : "= left over", "", [said(closing, days.volume), "c"], ["", "-"]];
    last.sum = true;
    rows.push(last);
    const off = Math.abs(sum - closing);
    const note = Number.isNaN(off) ? "Some of its water is not known, so it is not added up." : off < 0.5 ? "Its water adds up." : off <= rows.length ? "Its water adds up within rounding." : "Its water does not add up.";
    return el("div", {}, day_table(rows), el("p", { class: "small" }, note), methods());
  }
  function methods() {
    const at = (start, text) => { const found = document.querySelector(`[id^="${start}"]`); return found ? el("a", { href: "#" + found.id }, text) : null; };
    const links = [at("annex-methods", "how it is computed"), at("annex-assum", "what was assumed")].filter(Boolean);
    return el("p", { class: "small" }, "Upright: metered or sampled. Italic: computed. [In brackets]: assumed. ", ...links.flatMap((one, at) => (at ? ["; ", one] : [one])));
  }
  function onFile(title, records, spans, dates) {
    const rows = records.map(([at, name, what, , place, note]) => [...(dates ? [link(dated(iso(days.first, at)), subject.id, at)] : []), name, what, paper(place), note]);
    for (const [meter, from, to, first, count, counted, before, after] of spans) {
      const span = count === 1 ? dated(iso(days.first, first)) : `${dated(iso(days.first, first))} and ${count - 1} more day${count > 2 ? "s" : ""}`;
      rows.push([meter, `${days.nodes[from]} to ${days.nodes[to]}: ${counted}, ${span}`, [paper(before), paper(after)].filter(Boolean).join(" to "), ""]);
    }
    return rows.length ? long(title, [...(dates ? ["Day"] : []), "Of", "What it says", "File, line and paper", "Who, and note"], rows) : el("p", {}, "Nothing on file.");
  }
  const records = days.records.map(([at, name, what, mark, file, line, number, note]) => [at, days.texts[name], days.texts[what], mark, [file, line, number], days.texts[note]]);
  const spans = days.spans.flatMap(([meter, from, to, list]) => list.map(([first, count, counted, before, after], at) =>
    [meter, from, to, first, count, counted, before === 0 ? list[at - 1][4] : before, after]));
  const byDay = Map.groupBy(records, (record) => record[0]);
  const covers = (span) => day !== null && span[3] <= day && day < span[3] + span[4];

  const highest = (list) => list.reduce((most, value) => (value > most ? value : most), 0);
  /** A line of the days with its most; the day shown is marked. */
  function line(title, list, scale, marks) {
    const top = highest(list);
    const most = Math.max(top, ...marks.map((mark) => mark[1]));
    if (!(most > 0)) return null;
    const height = (value) => 58 - (value / most) * 54;
    let [path, pen] = ["", "M"];
    list.forEach((value, at) => {
      if (Number.isNaN(value)) { pen = "M"; return; }
      // Of equal days on end the first and the last are enough.
      if (pen === "L" && value === list[at - 1] && value === list[at + 1]) return;
      path += `${pen}${at + 0.5} ${height(value).toFixed(1)}`;
      pen = "L";
    });
    const svg = draw("svg", { class: "line", viewBox: `0 0 ${days.count} 60`, preserveAspectRatio: "none", role: "img", "aria-label": title });
    const stroke = (name, d) => svg.append(draw("path", { class: name, d }));
    stroke("foot", `M0 58H${days.count}`);
    stroke("values", path);
    for (const [, value] of marks) stroke("mark", `M0 ${height(value)}H${days.count}`);
    if (day !== null) stroke("at", `M${day + 0.5} 0V60`);
    const at = list.indexOf(top);
    const words = [`${title}: most ${said(list[at], scale, true)}`, ...(at < 0 ? [] : [", ", link(dated(iso(days.first, at)), subject ? subject.id : days.site, at)]), ...marks.map(([name, value]) => `; dashed: ${name} ${said(value, scale, true)}`), "."];
    return el("figure", {}, svg, el("figcaption", {}, ...words));
  }
  /** Months of the days, each with what a list of columns adds up to. */
  function months(title, columns) {
    const rows = [];
    for (let at = 0; at < days.count; at++) {
      const [year, month] = iso(days.first, at).split("-").map(Number);
      const name = `${MONTHS[month - 1]} ${year}`;
      if (!rows.length || rows[rows.length - 1].name !== name) rows.push({ name, first: at, sums: columns.map(() => 0), known: columns.map(() => "-") });
      const row = rows[rows.length - 1];
      columns.forEach(([, ways, what], column) => {
        const [value, letter] = moved(ways, what, at);
        row.sums[column] += value;
        row.known[column] = weaker(row.known[column], letter);
      });
    }
    const scale = (what) => (what === WATER ? days.volume : days.mass);
    return table(title, ["Month", ...columns.map(([name, , what]) => `${name}, ${scale(what)[0]}`)], rows.map((row) => [
      link(row.name, subject.id, row.first), ...row.sums.map((sum, at) => [said(sum, scale(columns[at][2])), row.known[at]])]));
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
      if (filter && values(filter[2])[day] > 0) into.push(el("p", {}, `${events(filter, day)}${known(basis(filter[3], day))}, set off by: ${words(filter[4])[day] || "not told"}.`));
      const meters = spans.filter((span) => covers(span) && (span[1] === index || span[2] === index));
      const names = new Set([name, ...meters.map((span) => span[0])]);
      into.push(onFile("On file for this day", (byDay.get(day) || []).filter((record) => names.has(record[1])), meters));
    }
    if (days.notShown[index]) into.push(el("p", {}, days.notShown[index]));
    const level = store && store[5] && line(`Level of ${name}`, values(store[5]), days.level, store[2] ? [["spills at", values(store[2])[0]]] : []);
    into.push(level, !level && store && line(`Held by ${name}`, values(store[3]), days.volume, [["full at", values(store[1])[0]]]));
    if (!store) into.push(line(`Water that came to ${name}, a day`, summed(ending(index)), days.volume, []));
    if (filter) into.push(line(`${filter[1] === "wash" ? "Washes" : "Changes"} of ${name}, a day`, values(filter[2]), ["", 0], []));
    into.push(folded("By month", () => months(`${name}, by month`, [["Water in", ending(index), WATER], ["Water out", starting(index), WATER], ["Solids in", ending(index), SOLIDS], ["Solids out", starting(index), SOLIDS]])));
    into.push(folded("Everything on file for it", () => onFile(`On file for ${name}`, records.filter((record) => record[1] === name), [], true)));
  }
  function openWay(band, into) {
    const [, words_, , ways] = band;
    const [from, to] = [days.ways[ways[0]][FROM], days.ways[ways[0]][TO]];
    if (day !== null) {
      into.push(entries(`${words_} on ${dated(iso(days.first, day))}`, ways, day), methods());
      into.push(onFile("Metered on this way", [], spans.filter((span) => covers(span) && span[1] === from && span[2] === to)));
    }
    into.push(line(`Water from ${days.nodes[from]} to ${days.nodes[to]}, a day`, summed(ways), days.volume, []));
    into.push(folded("By month", () => months(`${words_}, by month`, [["Water", ways, WATER], ["Solids", ways, SOLIDS]])));
  }
  function openDay(into) {
    into.push(onFile("On file for this day", byDay.get(day) || [], spans.filter(covers)));
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
    write($("day-words"), dayWords());
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
    const most = Math.max(highest(rain), 1);
    /** A mark on each day that has one. */
    const marks = (name, mark) => {
      let path = "";
      for (let at = 0; at < days.count; at++) path += mark(at);
      svg.append(draw("path", { class: name, d: path }));
    };
    marks("rain", (at) => (rain[at] > 0 ? `M${at + 0.5} 14v${((-13 * rain[at]) / most).toFixed(1)}` : ""));
    const left = days.leaves.flatMap(ending).map((way) => values(days.ways[way][WATER]));
    marks("left", (at) => (left.some((water) => water[at] > 0) ? `M${at} 18h1` : ""));
    for (const [name, mark, height] of [["sample", 2, 23], ["look", 1, 28]]) {
      const marked = new Set(records.filter((record) => record[3] === mark).map((record) => record[0]));
      marks(name, (at) => (marked.has(at) ? `M${at} ${height}h1` : ""));
    }
  }
  function apply(first) {
    const { part, day: asked } = asks();
    const at = days.ids.indexOf(part);
    const band = days.bands.find((one) => one[0] === part);
    // Another part of the page, or what opens over it.
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
    for (const { svg } of sheets) {
      svg.addEventListener("click", (event) => {
        const link = event.target.closest("a");
        if (!link) return;
        event.preventDefault();
        history.pushState(null, "", address(link.getAttribute("href").slice(1), day));
        apply(false);
      });
    }
    along();
    // While nothing is asked, the series are unpacked that the first step would have to wait for.
    const ahead = days.ways.flatMap((way) => [() => values(way[WATER]), () => values(way[SOLIDS]), () => letters(way[WATER_BASIS]), () => letters(way[SOLIDS_BASIS])]);
    const unpack = (idle) => {
      while (ahead.length && idle.timeRemaining() > 2) ahead.pop()();
      if (ahead.length) requestIdleCallback(unpack);
    };
    requestIdleCallback(unpack);
  }

  begin();
  addEventListener("hashchange", () => apply(false));
  apply(true);
});
