"use strict";
// Puts what the stream tells into the page. It decides nothing: every word comes from the server.
(() => {
  const STALE_MS = 2000;
  const SHAPES = {
    well: "M24 4a20 20 0 1 0 .01 0zM14 24l7 8 13-16",
    rest: "M6 6h36v36H6zM16 24h16",
    care: "M24 4L45 42H3zM24 17v13M24 34v4",
    act: "M24 3L45 24 24 45 3 24zM24 13v14M24 31v4",
    back: "M15 3h18l12 12v18L33 45H15L3 33V15zM15 15l18 18M33 15L15 33",
  };
  const MARKS = { fresh: "✓", stale: "…", doubtful: "?", lost: "✕" };
  const WORDS = { yes: "✓ Yes", wait: "… Wait", no: "✕ No" };
  const ARROWS = { warming: "↗ Warming", cooling: "↘ Cooling", steady: "→ Steady", unknown: "? Not known yet" };
  const at = (id) => document.getElementById(id);
  const heard = { at: performance.now(), told: null };

  const put = (node, text) => { if (node.textContent !== text) node.textContent = text; };
  const mark = (node, name, value) => { if (node.dataset[name] !== value) node.dataset[name] = value; };
  const make = (name, className, text) => {
    const node = document.createElement(name);
    if (className) node.className = className;
    if (text !== undefined) node.textContent = text;
    return node;
  };

  function sentence(told) {
    mark(document.documentElement, "tone", told.tone);
    put(at("tone"), told.tone_words.toUpperCase());
    put(at("sentence-text"), told.sentence);
    mark(at("sentence"), "long", told.sentence.length > 90 ? "yes" : "no");
    at("shape").firstElementChild.setAttribute("d", SHAPES[told.tone]);
    document.title = `${told.tone_words.toUpperCase()}: ${told.sentence}`;
  }

  function margins(told) {
    const box = at("margins");
    while (box.children.length < told.margins.length) {
      const each = make("article");
      each.append(make("h2"), make("p", "value"), make("div", "bar"), make("p", "to"));
      each.children[2].append(make("div"));
      box.append(each);
    }
    told.margins.forEach((margin, index) => {
      const [name, value, bar, to] = box.children[index].children;
      mark(box.children[index], "tone", margin.tone);
      put(name, margin.name);
      put(value, margin.value);
      put(to, margin.to_limit);
      bar.firstElementChild.style.width = `${100 * margin.share}%`;
    });
  }

  function answer(id, said) {
    const node = at(id);
    mark(node, "word", said.word);
    put(node.querySelector(".word"), WORDS[said.word]);
    put(node.querySelector(".reason"), said.reason);
  }

  function facts(told) {
    const tank = at("trend");
    put(tank.querySelector(".word"), `${ARROWS[told.trend.way]} ${told.trend.rate}`);
    put(tank.querySelector(".reason"), told.trend.end);
    for (const id of ["heat", "battery"]) {
      mark(at(id), "tone", told[id].tone);
      put(at(id).querySelector("h2"), told[id].name);
      put(at(id).querySelector(".text"), told[id].text);
    }
    put(at("link"), `link: ${told.link.text}`);
  }

  function loop(told) {
    for (const reading of told.readings) {
      for (const node of document.querySelectorAll(`[data-reading="${reading.key}"]`)) {
        mark(node, "trust", reading.trust);
        put(node.querySelector(".value"), reading.value);
        put(node.querySelector(".trust"), `${MARKS[reading.trust] || ""} ${reading.trust}`);
      }
    }
    for (const output of told.outputs) {
      for (const node of document.querySelectorAll(`[data-output="${output.key}"]`)) {
        put(node, output.words);
        mark(node, "on", output.on ? "yes" : "no");
      }
    }
    const moves = told.readings.some((each) => each.key === "flow" && parseFloat(each.value) > 0.2);
    mark(at("picture"), "moves", moves ? "yes" : "no");
  }

  function alarmItem(alarm) {
    const item = make("li");
    item.dataset.rank = alarm.rank;
    item.dataset.state = alarm.state;
    item.append(make("p", "head", ""), make("p", "happened", alarm.happened));
    const first = alarm.first_out ? `this began it at ${alarm.began} · ` : "";
    item.firstElementChild.textContent =
      `${alarm.rank_words.toUpperCase()} · ${first}${alarm.state_words} · since ${alarm.since}`;
    for (const [name, words] of [["Machine", alarm.machine], ["You", alarm.person]]) {
      const line = make("p", name.toLowerCase());
      line.append(make("b", "", `${name}: `), words);
      item.append(line);
    }
    return item;
  }

  function alarms(told) {
    const loud = told.alarms.filter((alarm) => alarm.state !== "suppressed by design");
    const quiet = told.alarms.filter((alarm) => alarm.state === "suppressed by design");
    at("alarms").hidden = told.alarms.length === 0;
    put(at("horn"), told.horn);
    const now = JSON.stringify(told.alarms);
    if (at("alarm-list").dataset.told !== now) {
      at("alarm-list").dataset.told = now;
      at("alarm-list").replaceChildren(...loud.map(alarmItem));
      const box = at("quiet-alarms");
      box.hidden = quiet.length === 0;
      put(box.querySelector("summary"), `${quiet.length} suppressed: they follow from the above`);
      box.querySelector("ul").replaceChildren(...quiet.map((alarm) => make("li", "", alarm.happened)));
    }
    put(at("service"), told.out_of_service.length
      ? `Nothing fitted could tell: ${told.out_of_service.join("; ")}.` : "");
  }

  function buttons(told) {
    at("buttons").hidden = !told.buttons;
    put(at("why-none"), told.buttons ? "" : told.why_none);
  }

  function stale(words) {
    const box = at("stale");
    mark(document.documentElement, "stale", words ? "yes" : "no");
    if (box.hidden !== !words) box.hidden = !words;
    put(at("stale-words"), words);
  }

  function show(told) {
    if (told.empty) { buttons(told); return; }
    put(at("phase"), `${told.phase}, fire ${told.fire}`);
    put(at("time"), told.over ? `${told.time}, over` : told.time);
    sentence(told); margins(told); answer("wood", told.wood); answer("bed", told.bed);
    facts(told); loop(told); alarms(told); buttons(told);
  }

  function watchStale() {
    const silent = performance.now() - heard.at;
    const told = heard.told;
    if (silent > STALE_MS) {
      stale(`Nothing heard for ${Math.round(silent / 1000)} s. Believe the board, not this page.`);
    } else if (told && told.stale) {
      stale(`The board has said nothing for ${Math.round(told.age_s)} s. Go and look.`);
    } else {
      stale("");
    }
  }

  function listen() {
    const stream = new EventSource("/stream");
    stream.onmessage = (event) => {
      const told = JSON.parse(event.data);
      heard.at = performance.now();
      heard.told = told;
      show(told);
      watchStale();
      document.dispatchEvent(new CustomEvent("told", { detail: told }));
    };
    stream.onerror = () => {
      // The browser tries again by itself, but for an answer that was a refusal.
      if (stream.readyState === EventSource.CLOSED) setTimeout(listen, 2000);
    };
  }

  async function ask(act) {
    put(at("said"), "");
    try {
      const answer = await fetch(`/ask/${act}`, { method: "POST" });
      put(at("said"), answer.ok ? (await answer.json()).said : `Not done: ${await answer.text()}`);
    } catch {
      put(at("said"), "Not done: the machine by the fire does not answer.");
    }
  }

  for (const button of document.querySelectorAll("[data-ask]")) {
    button.addEventListener("click", () => ask(button.dataset.ask));
  }
  setInterval(watchStale, 250);
  listen();
})();
