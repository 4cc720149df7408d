// Sizes of a pond: the slider shows one of those that were run. Nothing is reckoned here; each stop is on the page whole.
"use strict";
(() => {
  const $ = (id) => document.getElementById(id);
  const slider = $("size-at");
  const choice = $("sizes-of");
  const list = $("size-list");
  const names = [...list.options];
  const stops = [...document.querySelectorAll(".size")];
  const itself = Number($("size-itself").dataset.at);
  let among = stops.map((_, at) => at);
  let shown = -1;
  let later = 0;

  const marks = $("size-marks");
  /** Puts each mark where its pond lies among the stops shown: at its stop, or between those that hold less and more. */
  function mark() {
    // The middle of the thumb stays half its width inside the slider.
    const room = marks.clientWidth - 16;
    for (const one of marks.children) {
      const at = among.indexOf(Number(one.dataset.at ?? -1));
      const smaller = among.filter((stop) => Number(stops[stop].dataset.m3) < Number(one.dataset.m3)).length;
      const most = among.length - 1;
      const place = at < 0 ? Math.min(Math.max(smaller - 0.5, 0), most) : at;
      const x = 8 + room * (most > 0 ? place / most : 0);
      const [line, words] = one.children;
      // Words wider than a narrow screen are drawn together.
      words.removeAttribute("textLength");
      if (words.getComputedTextLength() > room + 16) {
        words.setAttribute("lengthAdjust", "spacingAndGlyphs");
        words.setAttribute("textLength", room + 16);
      }
      const half = words.getComputedTextLength() / 2;
      line.setAttribute("x1", x);
      line.setAttribute("x2", x);
      words.setAttribute("x", Math.max(Math.min(x, room + 16 - half), half));
    }
  }
  /** Shows a stop; the address follows when the hand rests, unless it was the address that asked. */
  function show(at, asked) {
    stops[shown]?.classList.remove("shown");
    stops[at].classList.add("shown");
    shown = at;
    const place = among.indexOf(at);
    slider.max = among.length - 1;
    slider.value = place;
    list.value = at;
    mark();
    slider.setAttribute("aria-valuetext", stops[at].dataset.words);
    $("size-words").textContent = `${place + 1} of ${among.length}. ${stops[at].dataset.words}`;
    $("size-less").disabled = place === 0;
    $("size-more").disabled = place === among.length - 1;
    clearTimeout(later);
    if (!asked) later = setTimeout(() => history.replaceState(null, "", "#" + stops[at].id), 250);
  }
  /** The stops of one choice; what was shown stays if it is one of them. */
  function choose(of) {
    pick(stops.map((_, at) => at).filter((at) => stops[at].dataset.of.split(" ").includes(of)));
    show(among.includes(shown) ? shown : among.includes(itself) ? itself : among[0]);
  }
  function all() {
    if (choice) choice.value = "0";
    pick(stops.map((_, at) => at));
  }
  /** The stops that slider and list have. */
  function pick(these) {
    among = these;
    list.replaceChildren(...among.map((at) => names[at]));
  }
  slider.addEventListener("input", () => show(among[Number(slider.value)]));
  $("size-less").addEventListener("click", () => show(among[among.indexOf(shown) - 1]));
  $("size-more").addEventListener("click", () => show(among[among.indexOf(shown) + 1]));
  $("size-itself").addEventListener("click", () => { if (!among.includes(itself)) all(); show(itself); });
  list.addEventListener("change", () => show(Number(list.value)));
  choice?.addEventListener("change", () => choose(choice.value));
  function follow() {
    const at = stops.findIndex((stop) => "#" + stop.id === location.hash);
    if (at < 0) return false;
    if (!among.includes(at)) all();
    show(at, true);
    stops[at].scrollIntoView();
    return true;
  }
  addEventListener("hashchange", follow);
  addEventListener("resize", mark);
  $("sizes-table").open = false;
  if (!follow()) show(itself, true);
})();
