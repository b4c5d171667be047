// Adds to a page that is complete without it: a cursor shared by all traces and maps, by mouse,
// touch and keyboard; a shared zoom along the lap; and a choice of the lap that is compared.
"use strict";
(function () {
  // The page is on the screen: now lay out the rest of it.
  addEventListener("load", () => setTimeout(() => document.body.classList.add("open"), 0));
  const SVG = "http://www.w3.org/2000/svg";
  const data = JSON.parse(document.getElementById("numbers").textContent);
  if (!data.laps) return;
  const length = data.length, step = data.step, count = data.place[0].length;
  const [farUnit, perMetre] = data.distance;
  const readout = document.getElementById("readout");
  let compared = data.usual === null ? null : String(data.usual);
  let at = null;

  const make = (name, attributes, parent) => {
    const node = document.createElementNS(SVG, name);
    for (const key in attributes) node.setAttribute(key, attributes[key]);
    if (parent) parent.appendChild(node);
    return node;
  };
  const number = (value, digits) => value.toFixed(digits).replace("-", "\u2212");
  const signed = (value, digits) => (value > 0 ? "+" : "") + number(value, digits);

  // The last step is shorter than the others, because the last station is the line.
  const stationOf = (i) => (i === count - 1 ? length : i * step);
  function between(values, s) {
    const i = Math.max(0, Math.min(count - 2, Math.floor(s / step)));
    const a = stationOf(i), b = stationOf(i + 1);
    const share = Math.max(0, Math.min(1, (s - a) / (b - a)));
    return values[i] + share * (values[i + 1] - values[i]);
  }
  const speedAt = (lap, s) => between(data.laps[lap].speed, s) / 10;
  const deltaAt = (lap, s) => between(data.laps[lap].delta, s) / 1000;
  const channels = Object.fromEntries((data.channels || []).map((c) => [c.kind, c]));
  const scaleOf = (kind) => (kind in channels ? channels[kind].scale : kind === "speed" ? 10 : 1000);
  // Where a channel has a hole its numbers are null, and nothing is drawn.
  const numbersOf = (lap, kind) => data.laps[lap][kind].map((v) => (v === null ? NaN : v / scaleOf(kind)));
  function channelAt(lap, kind, s) {
    const i = Math.max(0, Math.min(count - 2, Math.floor(s / step))), own = data.laps[lap][kind];
    return own[i] === null || own[i + 1] === null ? NaN : between(own, s) / scaleOf(kind);
  }
  const sdAt = (lap, s) => between(data.laps[lap].sd, s) / 10000;

  const traces = Array.from(document.querySelectorAll(".plot[data-kind]"), (svg) => {
    const value = (key) => parseFloat(svg.dataset[key]);
    const linked = svg.parentNode.dataset.linked === "yes";
    const cursor = make("g", { class: "cursor", visibility: "hidden" }, svg);
    return {
      svg, linked, kind: svg.dataset.kind, low: value("low"), high: value("high"),
      start: value("start"), end: value("end"), first: value("start"), last: value("end"),
      height: parseFloat(svg.getAttribute("height")), frame: svg.querySelector(".frame"),
      whole: svg.closest("#traces") !== null, cursor,
      rule: make("line", { y1: 0, y2: svg.getAttribute("height") }, cursor),
      dots: [make("circle", { r: 4 }, cursor), make("circle", { r: 4 }, cursor)],
      label: svg.getAttribute("aria-label"),
    };
  });
  const maps = Array.from(document.querySelectorAll(".plan[data-scale]"), (svg) => ({
    svg, scale: parseFloat(svg.dataset.scale), east: parseFloat(svg.dataset.east),
    north: parseFloat(svg.dataset.north), here: make("circle", { class: "here", r: 6, visibility: "hidden" }, svg),
    box: svg.viewBox.baseVal,
  }));

  function cornerAt(s) {
    for (const [n, name, entry, exit] of data.corners)
      if ((s >= entry && s <= exit) || (s - length >= entry && s - length <= exit) || (s + length >= entry && s + length <= exit))
        return name === String(n) ? "corner " + n : n + " " + name;
    return "";
  }

  function words(s) {
    const parts = [Math.round(perMetre * s) + " " + farUnit + (cornerAt(s) ? ", " + cornerAt(s) : "")];
    parts.push("lap " + data.best + " " + number(speedAt(data.best, s), 1) + " " + data.units);
    if (compared !== null) {
      parts.push("lap " + compared + " " + number(speedAt(compared, s), 1) + " " + data.units);
      const sd = sdAt(compared, s), digits = sd >= 0.0195 ? 2 : 3;
      const bar = " \u00b1 " + sd.toFixed(digits);
      parts.push("delta " + signed(deltaAt(compared, s), digits) + bar + " s");
    }
    for (const c of Object.values(channels)) {
      const digits = Math.max(0, Math.round(Math.log10(c.scale)) - 1);
      const said = [data.best].concat(compared === null ? [] : [compared]).map((lap) => channelAt(lap, c.kind, s));
      parts.push(c.name + " " + said.map((v) => (isFinite(v) ? number(v, digits) : "\u2013")).join(" / ") + (c.unit ? " " + c.unit : ""));
    }
    return parts;
  }

  function draw() {
    const said = words(at);
    readout.hidden = false;
    readout.textContent = said.join("   \u00b7   ");
    for (const t of traces) {
      const inside = at >= t.start && at <= t.end;
      t.cursor.setAttribute("visibility", inside ? "visible" : "hidden");
      t.svg.setAttribute("aria-valuenow", Math.round(at));
      t.svg.setAttribute("aria-valuetext", said.join(", "));
      if (!inside) continue;
      const x = (100 * (at - t.start) / (t.end - t.start)).toFixed(3) + "%";
      t.rule.setAttribute("x1", x);
      t.rule.setAttribute("x2", x);
      const shown = !t.linked ? [] : t.kind === "speed"
        ? [speedAt(data.best, at)].concat(compared === null ? [] : [speedAt(compared, at)])
        : t.kind in channels
          ? [channelAt(data.best, t.kind, at)].concat(compared === null ? [] : [channelAt(compared, t.kind, at)])
          : compared === null ? [] : [deltaAt(compared, at)];
      t.dots.forEach((dot, k) => {
        const there = k < shown.length && isFinite(shown[k]);
        dot.setAttribute("visibility", there ? "inherit" : "hidden");
        if (!there) return;
        dot.setAttribute("cx", x);
        dot.setAttribute("cy", (t.height * (t.high - shown[k]) / (t.high - t.low)).toFixed(1));
      });
    }
    const east = between(data.place[0], at) / 10, north = between(data.place[1], at) / 10;
    for (const m of maps) {
      const x = m.scale * (east - m.east), y = m.scale * (m.north - north);
      const inside = x >= 0 && y >= 0 && x <= m.box.width && y <= m.box.height;
      m.here.setAttribute("visibility", inside ? "visible" : "hidden");
      m.here.setAttribute("cx", x.toFixed(1));
      m.here.setAttribute("cy", y.toFixed(1));
    }
  }

  function point(s) {
    at = Math.max(0, Math.min(length, s));
    draw();
  }
  function leave() {
    at = null;
    readout.hidden = true;
    traces.forEach((t) => t.cursor.setAttribute("visibility", "hidden"));
    maps.forEach((m) => m.here.setAttribute("visibility", "hidden"));
  }

  // Zoom: one window shared by the traces of the whole lap.
  function niceStep(span) {
    const rough = span / 7, power = Math.pow(10, Math.floor(Math.log10(rough)));
    return [1, 2, 5, 10].map((f) => f * power).find((v) => v >= rough * 0.999999);
  }
  function zoom(start, end) {
    const least = 60;
    let a = Math.max(0, start), b = Math.min(length, end);
    if (b - a < least) {
      const middle = Math.max(least / 2, Math.min(length - least / 2, (a + b) / 2));
      a = middle - least / 2;
      b = middle + least / 2;
    }
    for (const t of traces) {
      if (!t.whole) continue;
      t.start = a;
      t.end = b;
      t.svg.setAttribute("aria-valuemin", Math.round(a));
      t.svg.setAttribute("aria-valuemax", Math.round(b));
      t.frame.setAttribute("viewBox", a.toFixed(1) + " 0 " + (b - a).toFixed(1) + " 1000");
      const letters = t.svg.querySelector(".letters.x");
      letters.replaceChildren();
      const every = niceStep(perMetre * (b - a));
      for (let far = Math.ceil(perMetre * a / every - 1e-9) * every; far <= perMetre * b + 1e-6; far += every) {
        const s = far / perMetre;
        const text = make("text", { x: (100 * (s - a) / (b - a)).toFixed(3) + "%", y: t.height + 15 }, letters);
        text.textContent = String(Math.round(far));
      }
      for (const text of t.svg.querySelectorAll(".corner-numbers text")) {
        const s = parseFloat(text.dataset.at);
        text.setAttribute("visibility", s >= a && s <= b ? "visible" : "hidden");
        text.setAttribute("x", (100 * (s - a) / (b - a)).toFixed(3) + "%");
      }
    }
    drawWindow(a, b);
    if (at !== null) draw();
  }
  function drawWindow(a, b) {
    for (const m of maps) {
      if (!m.svg.classList.contains("circuit")) continue;
      if (m.window) m.window.remove();
      if (b - a > length - 1) { m.window = null; continue; }
      let d = "";
      for (let i = Math.floor(a / step); i <= Math.min(count - 1, Math.ceil(b / step)); i++)
        d += (d ? "L" : "M") + (m.scale * (data.place[0][i] / 10 - m.east)).toFixed(1) + " " + (m.scale * (m.north - data.place[1][i] / 10)).toFixed(1);
      m.window = make("path", { class: "window", d });
      m.svg.insertBefore(m.window, m.here);
    }
  }
  const view = () => traces.find((t) => t.whole);
  function closer(factor) {
    const t = view();
    if (!t) return;
    const middle = at !== null && at >= t.start && at <= t.end ? at : (t.start + t.end) / 2;
    const left = (middle - t.start) * factor, right = (t.end - middle) * factor;
    zoom(middle - left, middle + right);
  }

  function stationUnder(t, event) {
    const box = t.svg.getBoundingClientRect();
    const share = Math.max(0, Math.min(1, (event.clientX - box.left) / box.width));
    return t.start + share * (t.end - t.start);
  }
  function listen(t) {
    const svg = t.svg;
    svg.setAttribute("role", "slider");
    svg.setAttribute("tabindex", "0");
    svg.setAttribute("aria-label", t.label + ". Arrow keys move the cursor" + (t.whole ? ", plus and minus zoom" : ""));
    svg.setAttribute("aria-valuemin", Math.round(t.start));
    svg.setAttribute("aria-valuemax", Math.round(t.end));
    svg.setAttribute("aria-valuenow", Math.round(t.start));
    svg.setAttribute("aria-valuetext", "no place chosen");
    let from = null, chosen = null;
    svg.addEventListener("pointermove", (event) => {
      const s = stationUnder(t, event);
      point(s);
      if (from === null) return;
      if (!chosen) chosen = make("rect", { class: "chosen", y: 0, height: t.height }, svg);
      const share = (v) => (100 * (v - t.start)) / (t.end - t.start);
      chosen.setAttribute("x", Math.min(share(from), share(s)) + "%");
      chosen.setAttribute("width", Math.abs(share(s) - share(from)) + "%");
    });
    svg.addEventListener("pointerdown", (event) => {
      point(stationUnder(t, event));
      if (event.pointerType === "mouse" && event.button === 0 && t.whole) {
        from = stationUnder(t, event);
        svg.setPointerCapture(event.pointerId);
        event.preventDefault();
        svg.focus({ preventScroll: true });
      }
    });
    const done = (event, take) => {
      if (chosen) chosen.remove();
      chosen = null;
      const s = stationUnder(t, event);
      if (take && from !== null && Math.abs(s - from) > 0.02 * (t.end - t.start)) zoom(Math.min(s, from), Math.max(s, from));
      from = null;
    };
    svg.addEventListener("pointerup", (event) => done(event, true));
    svg.addEventListener("pointercancel", (event) => done(event, false));
    svg.addEventListener("pointerleave", (event) => {
      if (event.pointerType === "mouse" && document.activeElement !== svg) leave();
    });
    svg.addEventListener("dblclick", () => t.whole && zoom(0, length));
    svg.addEventListener("focus", () => {
      if (at === null || at < t.start || at > t.end) point((t.start + t.end) / 2);
    });
    svg.addEventListener("blur", leave);
    svg.addEventListener("keydown", (event) => {
      const far = event.shiftKey ? 50 : step;
      const moves = {
        ArrowRight: far, ArrowUp: far, ArrowLeft: -far, ArrowDown: -far, PageUp: 50, PageDown: -50,
      };
      const ends = { Home: t.start, End: t.end };
      if (event.ctrlKey || event.metaKey || event.altKey) return;
      if (event.key in moves) point(Math.max(t.start, Math.min(t.end, (at === null ? t.start : at) + moves[event.key])));
      else if (event.key in ends) point(ends[event.key]);
      else if (t.whole && (event.key === "+" || event.key === "=")) closer(0.5);
      else if (t.whole && event.key === "-") closer(2);
      else if (t.whole && (event.key === "0" || event.key === "Escape")) zoom(0, length);
      else return;
      event.preventDefault();
    });
  }

  // Another lap in place of the usual one: its lines are drawn from the numbers.
  function pathOf(values, t) {
    let d = "", down = false;
    for (let i = 0; i < count; i++) {
      const s = stationOf(i);
      if (s < t.first - step || s > t.last + step) continue;
      if (!isFinite(values[i])) {
        down = false;
        continue;
      }
      const y = (1000 * (t.high - values[i])) / (t.high - t.low);
      d += (down ? "L" : "M") + s.toFixed(0) + " " + y.toFixed(0);
      down = true;
    }
    return d;
  }
  function rescale(t, values, sd) {
    // Zero is always in sight on the whole lap, but not in one corner.
    let low = t.whole ? 0 : Infinity, high = t.whole ? 0 : -Infinity;
    for (let i = 0; i < count; i++) {
      const s = stationOf(i);
      if (s < t.first || s > t.last) continue;
      low = Math.min(low, values[i] - sd[i]);
      high = Math.max(high, values[i] + sd[i]);
    }
    const room = Math.max(0.1 * (high - low), 0.03);
    t.low = low - room;
    t.high = high + room;
    const every = niceStep((t.high - t.low) * 1.4);
    const letters = t.svg.querySelector(".letters.y"), grid = t.svg.querySelector(".grid");
    letters.replaceChildren();
    grid.replaceChildren();
    const digits = Math.max(0, -Math.floor(Math.log10(every) + 1e-9));
    for (let v = Math.ceil(t.low / every) * every; v <= t.high; v += every) {
      const y = (t.height * (t.high - v)) / (t.high - t.low);
      make("line", { x1: 0, x2: "100%", y1: y, y2: y }, grid);
      make("text", { x: -7, y: y + 4 }, letters).textContent = number(v, digits);
    }
    const zero = t.frame.querySelector(".zero");
    if (zero) {
      const y = (1000 * t.high) / (t.high - t.low);
      zero.setAttribute("y1", y);
      zero.setAttribute("y2", y);
    }
  }
  function compare(lap) {
    compared = lap;
    const usual = lap === String(data.usual);
    for (const t of traces) {
      const line = t.frame.querySelector(".curve.usual");
      if (!t.linked || !line) continue;
      const values = numbersOf(lap, t.kind);
      if (t.kind === "delta") rescale(t, values, data.laps[lap].sd.map((v) => v / 10000));
      line.setAttribute("d", pathOf(values, t));
      const band = t.frame.querySelector(".curve.band");
      if (band) band.setAttribute("d", bandPath(values, t));
      for (const mark of t.svg.querySelectorAll(".mark.usual")) mark.setAttribute("visibility", usual ? "visible" : "hidden");
    }
    for (const node of document.querySelectorAll(".corner-view .plan .usual")) node.setAttribute("visibility", usual ? "visible" : "hidden");
    for (const node of document.querySelectorAll(".compared")) node.textContent = "lap " + lap + (usual ? ", " + data.usual_is : "");
    if (at !== null) draw();
  }
  function bandPath(values, t) {
    const sd = data.laps[compared].sd.map((v) => v / 10000);
    const upper = pathOf(values.map((v, i) => v + sd[i]), t);
    const lower = pathOf(values.map((v, i) => v - sd[i]).slice(), t).slice(1).split("L").reverse();
    return upper + "L" + lower.join("L") + "Z";
  }

  function tools() {
    const bar = document.querySelector(".tools");
    if (!bar || !view()) return;
    bar.hidden = false;
    const button = (text, act) => {
      const node = document.createElement("button");
      node.type = "button";
      node.textContent = text;
      node.addEventListener("click", act);
      bar.appendChild(node);
    };
    const choice = (text, options, act) => {
      const label = document.createElement("label"), select = document.createElement("select");
      label.append(text + " ", select);
      for (const [value, words_] of options) select.add(new Option(words_, value));
      select.addEventListener("change", () => act(select.value));
      bar.appendChild(label);
      return select;
    };
    button("Closer", () => closer(0.5));
    button("Wider", () => closer(2));
    button("Whole lap", () => zoom(0, length));
    choice("Show", [["", "the whole lap"]].concat(data.corners.map(([n, name], k) => [k, name === String(n) ? "corner " + n : n + " " + name])), (k) => {
      if (k === "") return zoom(0, length);
      zoom(data.corners[k][2] - 150, data.corners[k][3] + 100);
    });
    const laps = Object.keys(data.laps).filter((lap) => lap !== String(data.best));
    if (compared !== null && laps.length > 1) {
      const select = choice("Compare with the best", laps.map((lap) => [lap, "lap " + lap + (lap === compared ? " (" + data.usual_word + ")" : "")]), compare);
      select.value = compared;
    }
  }

  traces.forEach(listen);
  tools();
})();
