// The answer of a comparison at other prices and lives. In every draw the difference is a sum over prices, each times its
// factor, and over what is bought, reckoned as src/compare/money.rs does; the verdict is that of src/compare/study.rs.
"use strict";
(() => {
  const all = JSON.parse(document.getElementById("data").textContent).answer;
  const $ = (id) => document.getElementById(id);
  const prices = all.prices.map(() => 1);
  const lives = all.lives.map(() => 1);
  const worth = (rate, years) => (1 + rate) ** -years;

  /** Present value of what is bought now and again, less what is left of the last one's life. */
  function capital(price, first, life, rate) {
    if (first >= all.years - 1e-9 && first > 0) return 0;
    if (!(life > 0) || all.years <= 0) return price;
    let [value, bought] = [0, first];
    while (bought < all.years - 1e-9) {
      value += price * worth(rate, bought);
      bought += life;
    }
    return value - (price * Math.max(0, bought - all.years) / life) * worth(rate, all.years);
  }
  /** An amount in every run. */
  function amount([running, once, fixed]) {
    const sum = all.rates.map((_, run) => fixed[run] || 0);
    running.forEach((values, price) => values.forEach((value, run) => { sum[run] += prices[price] * value; }));
    for (const [price, life, sign, values, first] of once) {
      values.forEach((value, run) => { sum[run] += sign * capital(prices[price] * value, first ?? lives[life] * all.lives[life][1], lives[life] * all.lives[life][1], all.rates[run]); });
    }
    return sum;
  }
  /** Runs but the single one, each with what it counts; those that count for nothing are left out. */
  function counted(values) {
    const from = values.length > 1 ? 1 : 0;
    return values.slice(from).map((value, at) => [value, all.weights[from + at] ?? 1]).filter(([, weight]) => weight > 0);
  }
  /** A quantile of sorted values that count differently, as src/compare/figures.rs has it. */
  function quantile(sorted, share) {
    const n = sorted.length;
    let before = 0;
    const at = sorted.map(([, weight], k) => {
      const place = k * weight + (n - 1) * before;
      before += weight;
      return place;
    });
    const wanted = share * at[n - 1];
    let above = at.findIndex((place) => !(place < wanted));
    if (above < 0) above = n - 1;
    const below = Math.max(0, above - 1);
    const [low, high] = [sorted[below][0], sorted[above][0]];
    return at[above] > at[below] ? low + (wanted - at[below]) / (at[above] - at[below]) * (high - low) : high;
  }
  const sorted = (values) => counted(values).sort((a, b) => a[0] - b[0]);

  const isMoved = () => prices.some((factor) => factor !== 1) || lives.some((factor) => factor !== 1);

  /** What an option comes to: its verdict, range, and the share of draws in which it saves. */
  function judged([name, none, more, asTyped, limits, but, stays, ifMoved]) {
    const onlyIf = isMoved() ? ifMoved : asTyped;
    const values = amount(more);
    const of = sorted(values);
    const range = [0.05, 0.5, 0.95].map((share) => quantile(of, share));
    const total = (pairs) => pairs.reduce((sum, [, weight]) => sum + weight, 0);
    const [below, whole] = [total(counted(values).filter(([value]) => value < 0)), total(counted(values))];
    const share = below === whole ? 1 : below / whole;
    const anyhow = Math.abs(quantile(sorted(amount(all.anyhow)), 0.5));
    let verdict = "open";
    if (none.length) verdict = "none";
    else if (values.every((value) => value === 0)) verdict = "same";
    else if (Math.max(Math.abs(range[0]), Math.abs(range[2])) < all.hardly * anyhow) verdict = "hardly";
    else if (share >= all.agreed) verdict = "saves";
    else if (share <= 1 - all.agreed) verdict = "costs";
    return { name, none, onlyIf, limits, but, stays, verdict, range, share, single: values[0] };
  }
  /** The factor on a price at which the single run's difference is nought: none within ten times less or more of what is typed. */
  function even([, , more], price) {
    const [running, once] = more;
    const now = amount(more)[0];
    let slope = running[price]?.[0] || 0;
    for (const [of, life, sign, values, first] of once) if (of === price) slope += sign * capital(values[0], first ?? lives[life] * all.lives[life][1], lives[life] * all.lives[life][1], all.rates[0]);
    const factor = prices[price] - now / slope;
    return factor >= 0.1 && factor <= 10 ? factor : null;
  }

  const grouped = (value, digits) => {
    const [whole, rest] = Math.abs(value).toFixed(digits).split(".");
    return (value < 0 ? "\u2212" : "") + whole.replace(/\B(?=(\d{3})+$)/g, "\u202f") + (rest ? "." + rest : "");
  };
  /** Two figures: no sum over years to come is known better. */
  function two(value) {
    if (value === 0) return "0";
    const step = 10 ** Math.max(0, Math.floor(Math.log10(Math.abs(value))) - 1);
    return grouped(Math.round(value / step) * step, 0);
  }
  const three = (value) => grouped(value, Math.abs(value) >= 100 ? 0 : Math.abs(value) >= 10 ? 1 : 2);
  const WORDS = {
    none: "no verdict", same: "it costs the same in every draw", hardly: "hardly any difference in money",
    saves: "it saves", costs: "it costs more", open: "not decided by what is known",
  };
  const row = (head, cells, figures) => {
    const made = document.createElement("tr");
    const th = document.createElement("th");
    th.scope = "row";
    th.textContent = head;
    made.append(th, ...cells.map((words, at) => {
      const td = document.createElement("td");
      td.textContent = words;
      if (figures && at > 0) td.className = "n";
      return td;
    }));
    return made;
  };
  /** What limits say, as src/compare/answer.rs has it: a no first, then what it stays outside of. */
  function byLimits(of) {
    const isNo = of.limits.startsWith("no:") || ["same", "hardly", "costs"].includes(of.verdict);
    const answer = isNo ? "" : of.verdict === "saves" ? "pays, but does not comply: " : "does not comply: ";
    const stays = of.stays ? `${answer}it ${of.stays}` : "";
    const told = (isNo ? [of.limits, stays] : [stays, of.limits]).filter(Boolean).join("; ");
    return told ? `${told}; in money: ` : "";
  }
  const said = (of) => byLimits(of) + WORDS[of.verdict] + (of.onlyIf && of.verdict !== "none" && of.verdict !== "same" ? `, if ${of.onlyIf}, which nobody has shown` : "") + (of.but && of.verdict === "saves" ? `, but ${of.but}` : "");
  function show() {
    const found = all.options.map(judged);
    // Without a verdict there is a range to look at, as in the document, and no chance to save is claimed.
    const chance = (of) => (of.verdict === "none" ? "–" : `${Math.round(100 * of.share)} % of the draws`);
    $("answer-rows").replaceChildren(...found.map((of) => row(of.name, [said(of), ...of.range.map(two), chance(of)], true)));
    $("answer-evens").replaceChildren(...all.prices.map(([name, middle, unit], price) => row(name, all.options.map((of) => {
      if (of[1].length) return "–";
      const factor = even(of, price);
      return factor === null ? "none" : `${three(middle * factor)} ${unit}`;
    }))));
    $("answer-words").textContent = `${isMoved() ? "At these prices" : "As typed"}: ` + found.map((of) => `${of.name}, ${said(of)}`).join("; ") + ".";
    for (const input of document.querySelectorAll(".sliders input")) {
      const at = Number(input.dataset.at);
      const words = input.dataset.kind === "price"
        ? `${three(all.prices[at][1] * prices[at])} ${all.prices[at][2]}` : `${three(all.lives[at][1] * lives[at])} years`;
      input.nextElementSibling.textContent = words;
      input.setAttribute("aria-valuetext", words);
    }
  }
  for (const input of document.querySelectorAll(".sliders input")) {
    input.addEventListener("input", () => {
      (input.dataset.kind === "price" ? prices : lives)[input.dataset.at] = Number(input.value) === 0 ? 1 : 10 ** Number(input.value);
      show();
    });
  }
  $("as-typed").addEventListener("click", () => {
    prices.fill(1);
    lives.fill(1);
    for (const input of document.querySelectorAll(".sliders input")) input.value = 0;
    show();
  });
  // For whoever asks without a hand on a slider: the answer at factors on prices and lives.
  document.addEventListener("answer-at", (event) => {
    const [of, life] = [event.detail.prices, event.detail.lives];
    of.forEach((factor, at) => { prices[at] = factor; });
    life.forEach((factor, at) => { lives[at] = factor; });
    event.detail.found = all.options.map(judged);
    event.detail.evens = all.options.map((option) => all.prices.map((_, price) => even(option, price)));
  });
  show();
})();
