"use strict";
(() => {
  const readout = document.getElementById("readout");

  // A scale is two pixels and the values that stand there, or their logarithms.
  const scale = (text) => {
    const words = text.split(" ");
    return Object.assign(words.slice(0, 4).map(Number), { logarithmic: words[4] === "log" });
  };
  const value = ([from, low, to, high], pixel) => low + ((pixel - from) / (to - from)) * (high - low);
  const digits = ([, low, , high]) => Math.min(6, Math.max(0, 2 - Math.floor(Math.log10(Math.abs(high - low) || 1))));
  const written = (axis, pixel) => {
    if (axis.logarithmic) return (10 ** value(axis, pixel)).toPrecision(3);
    const text = value(axis, pixel).toFixed(digits(axis));
    return Number(text) === 0 ? text.replace("-", "") : text;
  };

  // Points of a curve in the order of the axis across; of dots their middles.
  const points = (element) =>
    element.points
      ? Array.from(element.points, (point) => [point.x, point.y])
      : Array.from(element.querySelectorAll("circle"), (dot) => [dot.cx.baseVal.value, dot.cy.baseVal.value]);

  // Height of a curve at x: on straight lines between points, or that of a dot nearby.
  const height = (element, x) => {
    const all = points(element);
    if (!element.points) {
      const near = all.filter(([at]) => Math.abs(at - x) < 8).sort((a, b) => Math.abs(a[0] - x) - Math.abs(b[0] - x));
      return near.length ? near[0][1] : null;
    }
    for (let k = 1; k < all.length; k++) {
      const [[x0, y0], [x1, y1]] = [all[k - 1], all[k]];
      if (x0 <= x && x <= x1) return x1 > x0 ? y0 + ((x - x0) / (x1 - x0)) * (y1 - y0) : y1;
    }
    return null;
  };

  // What stands at x in all fields of a picture, as lines of text.
  const read = (svg, x) => {
    const lines = [];
    for (const field of svg.querySelectorAll("g.field")) {
      const [across, up] = [scale(field.dataset.x), scale(field.dataset.y)];
      const [low, high] = [Math.min(across[0], across[2]), Math.max(across[0], across[2])];
      if (x < low || x > high) continue;
      if (!lines.length) {
        const title = field.closest("[data-across]");
        lines.push(`${title ? title.dataset.across : ""}: ${written(across, x)}`);
      }
      const found = [];
      for (const curve of field.querySelectorAll("[data-name]")) {
        const y = height(curve, x);
        if (y !== null) found.push(`  ${curve.dataset.name || ""} ${written(up, y)}`);
      }
      if (found.length) lines.push(field.dataset.up, ...found);
    }
    return lines;
  };

  const cursor = (svg, x) => {
    svg.querySelectorAll(".cursor").forEach((line) => line.remove());
    const field = svg.querySelector("g.field");
    if (x === null || !field) return;
    const box = svg.viewBox.baseVal;
    const line = document.createElementNS("http://www.w3.org/2000/svg", "path");
    line.setAttribute("class", "cursor");
    line.setAttribute("d", `M${x} 0V${box.height}`);
    svg.append(line);
  };

  const show = (lines, x, y) => {
    readout.textContent = lines.join("\n");
    const [width, tall] = [readout.offsetWidth, readout.offsetHeight];
    readout.style.left = `${Math.max(4, x + 16 + width > innerWidth ? x - 16 - width : x + 16)}px`;
    readout.style.top = `${Math.max(4, Math.min(y + 16, innerHeight - tall - 4))}px`;
  };
  const hide = (svg) => {
    readout.textContent = "";
    cursor(svg, null);
  };

  for (const svg of document.querySelectorAll(".chart svg")) {
    // What a part tells stands in the read-out, at once and for every pointer.
    for (const title of svg.querySelectorAll("title")) {
      title.parentNode.dataset.told = title.textContent;
      title.remove();
    }
    const chart = svg.closest(".chart");
    svg.addEventListener("pointermove", (event) => {
      const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
      const told = event.target.closest("[data-told]");
      const lines = read(svg, at.x);
      if (told) lines.unshift(told.dataset.told);
      cursor(svg, lines.length ? at.x : null);
      if (lines.length) show(lines, event.clientX, event.clientY);
      else hide(svg);
    });
    svg.addEventListener("pointerleave", () => hide(svg));
    // The keyboard goes along the axis, or from part to part where there is none.
    let place = 0;
    chart.addEventListener("keydown", (event) => {
      const step = { ArrowRight: 1, ArrowLeft: -1, Home: -1e9, End: 1e9 }[event.key];
      if (event.key === "Escape") hide(svg);
      if (!step) return;
      event.preventDefault();
      const xs = Array.from(svg.querySelectorAll("g.field [data-name]"), points).flat().map(([x]) => x);
      if (xs.length) {
        const [from, to] = [Math.min(...xs), Math.max(...xs)];
        place = Math.min(100, Math.max(0, place + step));
        const x = from + (place / 100) * (to - from);
        const seen = new DOMPoint(x, 0).matrixTransform(svg.getScreenCTM());
        cursor(svg, x);
        show(read(svg, x), seen.x, chart.getBoundingClientRect().top + 20);
      } else {
        const parts = Array.from(svg.querySelectorAll("[data-told]"));
        place = Math.min(parts.length - 1, Math.max(0, place + step));
        if (!parts.length) return;
        const box = parts[place].getBoundingClientRect();
        show([parts[place].dataset.told], box.right, box.top);
      }
    });
    chart.addEventListener("blur", () => hide(svg));
  }

  // Tables that sort by a column and show the rows that hold a text.
  for (const table of document.querySelectorAll("table.sortable")) {
    const body = table.tBodies[0];
    const heads = Array.from(table.tHead.rows[0].cells);
    const key = (row, column) => {
      const cell = row.cells[column];
      const text = cell.dataset.key || cell.textContent.trim();
      const number = Number(text.replace("−", "-"));
      return text !== "" && Number.isFinite(number) ? number : text;
    };
    heads.forEach((head, column) => {
      const button = head.querySelector("button");
      if (!button) return;
      button.addEventListener("click", () => {
        const falling = head.getAttribute("aria-sort") === "ascending";
        heads.forEach((other) => other.removeAttribute("aria-sort"));
        head.setAttribute("aria-sort", falling ? "descending" : "ascending");
        const rows = Array.from(body.rows);
        rows.sort((a, b) => {
          const [x, y] = [key(a, column), key(b, column)];
          const order = typeof x === "number" && typeof y === "number" ? x - y : String(x).localeCompare(String(y));
          return falling ? -order : order;
        });
        body.append(...rows);
      });
    });
    const filter = document.querySelector(`input[data-filters="${table.id}"]`);
    const count = document.querySelector(`[data-counts="${table.id}"]`);
    if (!filter) continue;
    filter.addEventListener("input", () => {
      const wanted = filter.value.toLowerCase();
      let shown = 0;
      for (const row of body.rows) {
        row.hidden = !row.textContent.toLowerCase().includes(wanted);
        if (!row.hidden) shown += 1;
      }
      if (count) count.textContent = `${shown} of ${body.rows.length} shown`;
    });
  }

  // Profiles along a path that a slider takes through time.
  for (const scrub of document.querySelectorAll(".scrub")) {
    const figure = scrub.closest("figure");
    const [slider, output] = [scrub.querySelector("input"), scrub.querySelector("output")];
    const times = scrub.dataset.times.split(" ").map(Number);
    const clock = scale(scrub.dataset.axis);
    const profiles = Array.from(figure.querySelectorAll(".profile"), (line) => ({
      line,
      columns: Number(line.dataset.columns),
      levels: Uint8Array.from(atob(line.dataset.values), (letter) => letter.charCodeAt(0)),
      across: scale(line.dataset.x),
      up: scale(line.dataset.y),
    }));
    const draw = () => {
      const row = Number(slider.value);
      for (const { line, columns, levels, across, up } of profiles) {
        // Level zero stands for no value: there the line breaks.
        let path = "";
        for (let k = 0; k < columns; k++) {
          const level = levels[row * columns + k];
          if (level === 0) continue;
          const x = across[0] + ((k + 0.5) / columns) * (across[2] - across[0]);
          const y = up[0] + ((level - 1) / 254) * (up[2] - up[0]);
          const begins = k === 0 || levels[row * columns + k - 1] === 0;
          path += `${begins ? "M" : "L"}${x.toFixed(1)} ${y.toFixed(1)}`;
        }
        line.setAttribute("d", path);
      }
      const at = clock[0] + ((times[row] - clock[1]) / (clock[3] - clock[1])) * (clock[2] - clock[0]);
      for (const marker of figure.querySelectorAll(".moment")) marker.setAttribute("transform", `translate(0 ${at.toFixed(1)})`);
      output.textContent = `${(1e3 * times[row]).toFixed(1)} ms`;
    };
    slider.addEventListener("input", draw);
    draw();
  }

  // Paper has no folds.
  addEventListener("beforeprint", () => document.querySelectorAll("details.layout").forEach((part) => (part.open = true)));
})();
