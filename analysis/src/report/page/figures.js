// Stretches drawings to the width there is, links their axes of time, and tells what lies under a pointer or the keyboard's cursor.
// Drawings are complete without it: this only moves what is there. Numbers are read back from the drawn lines.
(() => {
  "use strict";
  const SVG = "http://www.w3.org/2000/svg";
  const steps = [1 / 60, 2 / 60, 5 / 60, 10 / 60, 0.25, 0.5, 1, 2, 3, 6, 12, 24, 48, 96, 168, 336, 672];
  const all = [];
  let view = null; // [from, to] in hours; null: all of it
  let cursor = null; // hours

  const num = (element, name) => Number(element.dataset[name]);
  const clock = (hours) => {
    const minutes = Math.round(hours * 60);
    return `${Math.floor(minutes / 60)} h ${String(minutes % 60).padStart(2, "0")} min`;
  };
  const short = (value) => (Number.isFinite(value) ? String(Number(value.toPrecision(3))) : "-");

  class Drawing {
    constructor(svg) {
      this.svg = svg;
      this.figure = svg.closest("figure") || svg.parentElement;
      this.width0 = num(svg, "width");
      this.height = num(svg, "height");
      this.time = svg.dataset.along === "time";
      this.left = num(svg, "left");
      this.right0 = num(svg, "right");
      this.x0 = num(svg, "x0");
      this.x1 = num(svg, "x1");
      this.edge = this.width0 - this.right0;
      this.readout = this.figure.querySelector(".readout");
      this.lines = null;
      this.line = document.createElementNS(SVG, "path");
      this.line.setAttribute("class", "cursor");
      this.line.setAttribute("visibility", "hidden");
      this.width = this.width0;
      if (this.time) this.listen();
    }

    // Where a px of the drawing as it was made lies now.
    at(x) {
      return this.scale * x + this.shift;
    }
    hoursAt(px) {
      const made = (px - this.shift) / this.scale;
      return this.x0 + ((made - this.left) / (this.right0 - this.left)) * (this.x1 - this.x0);
    }
    pxAt(hours) {
      return this.at(this.left + ((hours - this.x0) / (this.x1 - this.x0)) * (this.right0 - this.left));
    }

    // The width that there is. All are measured before any is changed, so that the page is laid out once and not for each of them.
    measure() {
      this.width = Math.max(240, Math.round(this.svg.getBoundingClientRect().width) || this.width0);
    }

    lay(printed) {
      const width = printed ? this.width0 : this.width;
      const right = width - this.edge;
      const [from, to] = this.time && view && !printed ? view : [this.x0, this.x1];
      const part = (to - from) / (this.x1 - this.x0);
      const first = (from - this.x0) / (this.x1 - this.x0);
      this.scale = (right - this.left) / ((this.right0 - this.left) * part);
      this.shift = this.left - this.scale * (this.left + first * (this.right0 - this.left));
      this.right = right;
      this.shown = [from, to];
      this.svg.setAttribute("viewBox", `0 0 ${width} ${this.height}`);
      for (const group of this.svg.querySelectorAll(".scaled")) {
        group.setAttribute("transform", `matrix(${this.scale} 0 0 1 ${this.shift} 0)`);
      }
      for (const rect of this.svg.querySelectorAll("rect.stretch")) rect.setAttribute("width", Math.max(0, right - this.left));
      for (const base of this.svg.querySelectorAll("path.stretch")) {
        base.setAttribute("d", base.getAttribute("d").replace(/H[-\d.]+/, `H${right}`));
      }
      for (const group of this.svg.querySelectorAll(".right")) group.setAttribute("transform", `translate(${right - this.right0} 0)`);
      for (const group of this.svg.querySelectorAll(".at")) {
        const x = this.at(num(group, "x"));
        group.setAttribute("transform", `translate(${x} ${group.dataset.y || 0})`);
      }
      for (const box of this.svg.querySelectorAll(".boxes rect[data-from]")) {
        const [x, end] = [this.pxAt(num(box, "from")), this.pxAt(num(box, "to"))];
        box.setAttribute("x", x);
        box.setAttribute("width", Math.max(0, end - x));
      }
      for (const text of this.svg.querySelectorAll("text.within")) {
        const [x, end] = [Math.max(this.at(num(text, "x")), this.left), Math.min(this.at(num(text, "x1")), right)];
        text.setAttribute("x", x + 3);
        text.setAttribute("visibility", 6.3 * text.textContent.length + 4 <= end - x ? "visible" : "hidden");
      }
      const narrow = width < 480 && !printed;
      for (const text of this.svg.querySelectorAll("text[data-short]")) {
        if (!text.dataset.full) text.dataset.full = text.textContent;
        text.textContent = narrow ? text.dataset.short : text.dataset.full;
      }
      if (this.svg.querySelector(".ticks")) this.ticks(right);
      if (!this.line.isConnected) this.svg.append(this.line);
      this.mark();
    }

    ticks(right) {
      const ticks = this.svg.querySelector(".ticks");
      const bottom = num(this.svg.querySelector(".across"), "bottom");
      const most = Math.max(2, Math.floor((right - this.left) / 62));
      const [from, to] = this.shown;
      const span = to - from;
      let step;
      if (this.time) {
        step = steps.find((one) => span / one <= most) || span;
      } else {
        const power = 10 ** Math.floor(Math.log10(span / most));
        step = [1, 2, 5, 10].map((k) => k * power).find((one) => span / one <= most * 1.000001);
      }
      const decimals = Math.max(0, Math.min(9, -Math.floor(Math.log10(step) + 1e-9)));
      const parts = [];
      for (let k = Math.ceil(from / step - 1e-9); k <= to / step + 1e-9; k += 1) {
        const value = k * step;
        const x = this.at(this.left + ((value - this.x0) / (this.x1 - this.x0)) * (this.right0 - this.left));
        const minutes = Math.round(value * 60);
        const label = !this.time ? value.toFixed(decimals) : step < 1 ? `${Math.floor(minutes / 60)}:${String(minutes % 60).padStart(2, "0")}` : String(Math.round(value));
        parts.push(`<path class="base" d="M${x},${bottom}v4"/><text class="tick" x="${x}" y="${bottom + 15}" text-anchor="middle">${label.replace(/^-(0(\.0+)?)$/, "$1")}</text>`);
      }
      ticks.innerHTML = parts.join("");
    }

    // Drawn lines and bands as values: read once, when first asked for.
    read() {
      if (this.lines) return this.lines;
      this.lines = [];
      const panel = this.svg.querySelector(".panel");
      if (!panel) return this.lines;
      const [y0, y1, top, bottom] = ["y0", "y1", "top", "bottom"].map((name) => num(panel, name));
      const value = (y) => y0 + ((bottom - y) / (bottom - top)) * (y1 - y0);
      const hours = (x) => this.x0 + ((x - this.left) / (this.right0 - this.left)) * (this.x1 - this.x0);
      const points = (d) =>
        d.split("M").filter(Boolean).map((run) => run.replace("Z", "").split("L").map((pair) => pair.split(",").map(Number)).map(([x, y]) => [hours(x), value(y)]));
      for (const path of panel.querySelectorAll("path.line:not(.faint), path.band")) {
        const name = path.dataset.name || "";
        const runs = points(path.getAttribute("d"));
        if (path.classList.contains("band")) {
          const split = num(path, "split");
          this.lines.push({ name, band: runs.map((run) => [run.slice(0, split), run.slice(split).reverse()]) });
        } else {
          this.lines.push({ name, runs });
        }
      }
      this.unit = panel.dataset.unit || "";
      return this.lines;
    }

    tell(hours) {
      const between = (run) => {
        if (!run.length || hours < run[0][0] - 1e-9 || hours > run[run.length - 1][0] + 1e-9) return null;
        let [low, high] = [0, run.length - 1];
        while (high - low > 1) {
          const middle = (low + high) >> 1;
          if (run[middle][0] <= hours) low = middle;
          else high = middle;
        }
        const [[xa, ya], [xb, yb]] = [run[low], run[high]];
        return xb > xa ? ya + ((yb - ya) * Math.min(1, Math.max(0, (hours - xa) / (xb - xa)))) : yb;
      };
      const first = (runs) => runs.map(between).find((value) => value !== null);
      const parts = [];
      for (const { name, runs, band } of this.read()) {
        if (band) {
          const both = band.map(([upper, lower]) => [between(lower), between(upper)]).find(([low]) => low !== null);
          if (!both) continue;
          // Of what is stacked, the band's own height counts.
          parts.push(/ (gives|takes)$/.test(name) ? `${name} ${short(both[1] - both[0])}` : `${name}: ${short(both[0])} to ${short(both[1])}`);
        } else {
          const value = first(runs);
          if (value !== undefined) parts.push(`${name} ${short(value)}`);
        }
      }
      const values = parts.length ? `${parts.join(", ")} ${this.unit}` : "";
      const lanes = [];
      for (const box of document.querySelectorAll("svg.drawing .lane [data-says]:not(.place)")) {
        const [from, to] = [num(box, "from"), num(box, "to")];
        if (hours >= from && hours < to && !/: (on|off|closed)$/.test(box.dataset.says)) lanes.push(box.dataset.says);
      }
      return [clock(hours), values, lanes.join("; ")].filter(Boolean).join(" \u00b7 ");
    }

    mark() {
      if (cursor === null || !this.time || cursor < this.shown[0] || cursor > this.shown[1]) {
        this.line.setAttribute("visibility", "hidden");
        return;
      }
      const x = this.pxAt(cursor);
      this.line.setAttribute("d", `M${x},0V${this.height - 30}`);
      this.line.setAttribute("visibility", "visible");
    }

    say(text, live) {
      if (!this.readout) return;
      this.readout.setAttribute("aria-live", live ? "polite" : "off");
      this.readout.firstElementChild.textContent = text;
    }

    listen() {
      const svg = this.svg;
      svg.setAttribute("tabindex", "0");
      let from = null;
      let box = null;
      const px = (event) => {
        const area = svg.getBoundingClientRect();
        return Math.min(this.right, Math.max(this.left, ((event.clientX - area.left) / area.width) * svg.viewBox.baseVal.width));
      };
      svg.addEventListener("pointermove", (event) => {
        const hours = this.hoursAt(px(event));
        point(hours);
        this.say(this.tell(hours), false);
        if (from === null) return;
        const [a, b] = [this.pxAt(from), px(event)].sort((one, other) => one - other);
        if (!box && b - a > 4) {
          box = document.createElementNS(SVG, "rect");
          box.setAttribute("class", "picked");
          box.setAttribute("y", "0");
          box.setAttribute("height", String(this.height - 30));
          svg.append(box);
        }
        if (box) {
          box.setAttribute("x", String(a));
          box.setAttribute("width", String(b - a));
        }
      });
      svg.addEventListener("pointerdown", (event) => {
        // A finger scrolls the page; only a mouse or a pen picks a stretch of time.
        if (event.button !== 0 || event.pointerType === "touch") return;
        from = this.hoursAt(px(event));
        svg.setPointerCapture(event.pointerId);
      });
      svg.addEventListener("pointerup", (event) => {
        const to = this.hoursAt(px(event));
        if (box) {
          box.remove();
          zoom(Math.min(from, to), Math.max(from, to));
        }
        [from, box] = [null, null];
      });
      svg.addEventListener("pointercancel", () => {
        if (box) box.remove();
        [from, box] = [null, null];
      });
      svg.addEventListener("pointerleave", () => {
        if (from !== null) return;
        point(null);
        this.say("", false);
      });
      svg.addEventListener("dblclick", () => zoom(null));
      svg.addEventListener("keydown", (event) => {
        const [low, high] = this.shown;
        const span = high - low;
        const here = cursor === null ? (low + high) / 2 : cursor;
        const step = (event.shiftKey ? 0.1 : 0.01) * span;
        const to = { ArrowLeft: here - step, ArrowRight: here + step, Home: low, End: high }[event.key];
        if (to !== undefined) point(Math.min(high, Math.max(low, to)));
        else if (event.key === "+" || event.key === "=") zoom(here - span / 4, here + span / 4);
        else if (event.key === "-") zoom(here - span, here + span);
        else if (event.key === "0" || event.key === "Escape") zoom(null);
        else return;
        event.preventDefault();
        this.say(this.tell(cursor === null ? here : cursor), true);
      });
      svg.addEventListener("focus", () => {
        if (cursor === null) point((this.shown[0] + this.shown[1]) / 2);
      });
    }
  }

  function point(hours) {
    cursor = hours;
    for (const drawing of all) drawing.mark();
  }

  function zoom(from, to) {
    const timed = all.filter((drawing) => drawing.time);
    if (!timed.length) return;
    const [start, end] = [Math.min(...timed.map((one) => one.x0)), Math.max(...timed.map((one) => one.x1))];
    if (from === null || to - from >= end - start) {
      view = null;
    } else {
      const span = Math.max(to - from, (end - start) / 2000);
      const low = Math.min(Math.max(from, start), end - span);
      view = [low, low + span];
    }
    for (const drawing of timed) drawing.lay();
    const bar = document.querySelector(".zoomed");
    if (!bar) return;
    bar.hidden = view === null;
    if (view) bar.querySelector("output").textContent = `${clock(view[0])} to ${clock(view[1])}`;
  }

  function fit(drawings, unknown = () => true) {
    for (const drawing of drawings.filter(unknown)) drawing.measure();
    for (const drawing of drawings) drawing.lay();
  }

  // A drawing in the place of another has its width: to ask for it would lay the page out once more.
  function attach(...roots) {
    const before = new Map(all.map((one) => [one.figure.id, one.width]));
    for (let i = all.length - 1; i >= 0; i -= 1) if (!all[i].svg.isConnected) all.splice(i, 1);
    const found = roots.flatMap((root) => [...root.querySelectorAll("svg.drawing")]);
    const made = found.map((svg) => new Drawing(svg));
    all.push(...made);
    for (const drawing of made) drawing.width = before.get(drawing.figure.id) || drawing.width;
    fit(made, (drawing) => !before.has(drawing.figure.id));
  }

  window.breathroomFigures = { attach, zoom, point, fit: () => fit(all) };
  let width = 0;
  const lay = () => {
    if (document.documentElement.clientWidth === width) return;
    width = document.documentElement.clientWidth;
    fit(all);
  };
  const begin = () => {
    width = document.documentElement.clientWidth;
    attach(document);
    const whole = document.querySelector(".zoomed button");
    if (whole) whole.addEventListener("click", () => zoom(null));
  };
  if (document.readyState === "loading") document.addEventListener("DOMContentLoaded", begin);
  else begin();
  window.addEventListener("resize", lay);
  // On paper the whole run is seen, and what is folded away but belongs to the evidence.
  let opened = [];
  window.addEventListener("beforeprint", () => {
    opened = [...document.querySelectorAll("details.printed:not([open])")];
    for (const one of opened) one.open = true;
    for (const drawing of all) drawing.lay(true);
  });
  window.addEventListener("afterprint", () => {
    for (const one of opened) one.open = false;
    for (const drawing of all) drawing.lay();
  });
  // Closed sections have no width: their drawings are laid out when they open.
  document.addEventListener("toggle", (event) => {
    if (event.target.open) fit(all.filter((drawing) => event.target.contains(drawing.svg)));
  }, true);
})();
