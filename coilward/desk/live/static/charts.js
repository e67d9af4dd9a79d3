"use strict";
// Draws the strips of the night. The stretch that is shown is asked for again now and then, thinned
// by the server: neither the data here nor the time to draw them grows with the night.
(() => {
  const at = (id) => document.getElementById(id);
  const LEAST_S = 60;
  const view = { width: 3600, end: null, follow: true, newest: 0, first: 0 };
  let models = null, own = false, busy = false, again = false, askedAt = 0;

  const clock = (seconds) => {
    const whole = Math.max(0, Math.floor(seconds));
    const two = (number) => String(number).padStart(2, "0");
    return `${Math.floor(whole / 3600)}:${two(Math.floor(whole / 60) % 60)}:${two(whole % 60)}`;
  };

  function unpacked(buffer) {
    const bytes = new Uint8Array(buffer);
    const line = bytes.indexOf(10);
    const head = JSON.parse(new TextDecoder().decode(bytes.subarray(0, line)));
    const columns = {};
    head.columns.forEach((name, index) => {
      columns[name] = new Float64Array(buffer, line + 1 + 8 * index * head.count, head.count);
    });
    return [head, columns];
  }

  function span() {
    const end = view.follow || view.end === null ? view.newest : view.end;
    return [Math.max(end - view.width, Math.min(view.first, end - LEAST_S)), end];
  }

  function phases(head, from, to) {
    const blocks = head.phases.map((each) => {
      const start = Math.max(each.from_s, from), stop = Math.min(Math.max(each.to_s, start), to);
      const item = document.createElement("li");
      item.textContent = each.phase;
      item.dataset.phase = each.phase;
      item.style.left = `${100 * (start - from) / (to - from)}%`;
      item.style.width = `${100 * (stop - start) / (to - from)}%`;
      item.title = `${each.phase} from ${clock(each.from_s)}`;
      return item;
    });
    at("phases").replaceChildren(...blocks);
    at("trips").hidden = head.trips.length === 0;
    at("trips").querySelector("ul").replaceChildren(...head.trips.map((trip) => {
      const item = document.createElement("li");
      item.textContent = `${clock(trip.time_s)}: ${trip.words}`;
      return item;
    }));
  }

  async function draw() {
    if (busy) { again = true; return; }
    busy = true;
    try {
      const [from, to] = span();
      askedAt = performance.now();
      const answer = await fetch(`/history?from=${from.toFixed(2)}&to=${to.toFixed(2)}`);
      if (!answer.ok) return;
      const [head, columns] = unpacked(await answer.arrayBuffer());
      view.first = head.first_s;
      phases(head, from, to);
      at("span").textContent = `${clock(from)} to ${clock(to)}`;
      if (!models) return;
      own = true;
      models.span.setv({ start: from, end: to });
      own = false;
      models.signals.data = columns;
      models.trips.data = {
        time_s: head.trips.map((trip) => trip.time_s), words: head.trips.map((trip) => trip.words),
      };
      await new Promise((done) => requestAnimationFrame(() => setTimeout(done, 0)));
      document.dispatchEvent(new CustomEvent("drawn", {
        detail: { rows: head.count, ms: performance.now() - askedAt, last_s: head.last_s },
      }));
    } catch {
      // The server is away: the page says so by itself.
    } finally {
      busy = false;
      if (again) { again = false; draw(); }
    }
  }

  function look(name) {
    const [from, to] = span();
    const middle = (from + to) / 2;
    const shown = to - from;
    const move = { earlier: -shown / 2, later: shown / 2 }[name];
    const width = { closer: shown / 2, wider: shown * 2, ten: 600, hour: 3600 }[name];
    if (name === "now") view.follow = true;
    if (name === "night") { view.width = Math.max(LEAST_S, view.newest - view.first); view.follow = true; }
    if (move !== undefined) { view.width = shown; view.end = to + move; view.follow = false; }
    if (width !== undefined) {
      view.width = Math.min(Math.max(width, LEAST_S), 86400);
      if (!view.follow) view.end = middle + view.width / 2;
    }
    if (!view.follow) {
      view.end = Math.min(view.end, view.newest);
      view.end = Math.max(view.end, view.first + LEAST_S);
    }
    follow();
    draw();
  }

  function follow() {
    document.querySelector('[data-view="now"]').setAttribute("aria-pressed", String(view.follow));
  }

  // Somebody drags or turns the wheel in a chart.
  let moved = 0;
  function byHand() {
    if (own) return;
    const { start, end } = models.span;
    view.width = Math.max(LEAST_S, end - start);
    view.end = end;
    view.follow = false;
    follow();
    clearTimeout(moved);
    moved = setTimeout(draw, 120);
  }

  async function start() {
    const light = matchMedia("(prefers-color-scheme: light)").matches;
    const item = await (await fetch(`/strips?look=${light ? "light" : "dark"}`)).json();
    await Bokeh.embed.embed_item(item, "strips");
    const roots = Bokeh.documents[Bokeh.documents.length - 1];
    models = Object.fromEntries(
      ["signals", "trips", "span"].map((name) => [name, roots.get_model_by_name(name)]));
    models.span.change.connect(byHand);
    for (const figure of document.querySelectorAll("#strips *")) figure.removeAttribute("tabindex");
    await draw();
  }

  let drawnAt = -Infinity;
  document.addEventListener("told", (event) => {
    if (event.detail.empty) return;
    if (event.detail.time_s < view.newest) { view.follow = true; follow(); }
    view.newest = event.detail.time_s;
    const every = Math.min(Math.max(view.width / 1200, 1), 10);
    if (view.follow && Math.abs(view.newest - drawnAt) >= every && performance.now() - askedAt > 400) {
      drawnAt = view.newest;
      draw();
    }
  });
  for (const button of document.querySelectorAll("[data-view]")) {
    button.addEventListener("click", () => look(button.dataset.view));
  }
  start();
})();
