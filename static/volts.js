// Volts boxes: three digits are a cell (391 is 3.91) and lead to the next box; a line of volts is shown as cells.
// Without this script the boxes are plain inputs and the server reads the same.

// `mark` is the club's decimal sign. Volts of a whole pack (`data-whole`) are left as they are typed: 126 may be 12.6.
const asVolts = (text, mark) => {
  const typed = text.trim().replace(/[.,]/, mark);
  return /^\d{3,4}$/.test(typed) ? `${typed[0]}${mark}${typed.slice(1)}` : typed;
};

const isWhole = (typed) => /^\d[.,]\d{2,3}$/.test(typed);

function walk(boxes, index, mark) {
  const box = boxes[index];
  box.addEventListener("input", (event) => {
    const volts = /^\d{4}$/.test(box.value.trim()) ? box.value : asVolts(box.value, mark);
    if (!/^\d[.,]\d\d$/.test(volts) || (event.inputType || "").startsWith("delete")) return;
    box.value = volts;
    const next = boxes[index + 1];
    if (next) {
      next.focus();
      next.select();
    }
  });
  box.addEventListener("keydown", (event) => {
    if (event.key !== "Backspace" || box.value !== "" || index === 0) return;
    event.preventDefault();
    boxes[index - 1].focus();
  });
}

function cellsOf(line, mark, count) {
  // With points in the line, or before a space, a comma stands between cells.
  const plain = line.includes(".") ? line.replaceAll(",", " ") : line.replace(/,(?=\s|$)/g, " ");
  const words = plain.trim().split(/[\s;/|]+/).filter(Boolean);
  const isRow = words.length === 1 && /^\d+$/.test(words[0]);
  // Four digits for each cell are millivolts, three are volts.
  const cells = isRow ? words[0].match(words[0].length === 4 * count ? /\d{4}/g : /\d{1,3}/g) : words;
  return cells.map((cell) => asVolts(cell, mark));
}

function sayCells(volts, count) {
  if (volts.length === 0) return "";
  const said = volts.map((cell, index) => `${index + 1}: ${cell}${isWhole(cell) ? "" : " ?"}`).join("   ");
  if (!count || volts.length === count) return said;
  return `${said}   (${volts.length} of ${count} cells)`;
}

for (const set of document.querySelectorAll(".volts:not([data-whole])")) {
  const mark = set.dataset.mark || ".";
  const count = Number(set.dataset.cells);
  const boxes = [...set.querySelectorAll(".boxes input")];
  boxes.forEach((_, index) => walk(boxes, index, mark));
  const line = set.querySelector("input[name^=volts_line]");
  const output = set.querySelector("output");
  if (line && output) {
    const show = () => { output.textContent = sayCells(cellsOf(line.value, mark, count), count); };
    line.addEventListener("input", show);
    // Where the digits part has been shown above: so they are sent as cells.
    line.addEventListener("change", () => {
      const cells = cellsOf(line.value, mark, count);
      if (cells.length === count && cells.every(isWhole)) line.value = cells.join(" ");
    });
    show();
  }
}
