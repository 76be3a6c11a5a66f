// Volts boxes: three digits are a cell (391 is 3.91) and lead to the next box; a line of volts is shown as cells.
// Without this script the boxes are plain inputs and the server reads the same.

const asVolts = (text) => {
  const typed = text.trim().replace(",", ".");
  return /^\d{3}$/.test(typed) ? `${typed[0]}.${typed.slice(1)}` : typed;
};

const isWhole = (typed) => /^\d\.\d\d$/.test(typed);

function walk(boxes, index) {
  const box = boxes[index];
  box.addEventListener("input", (event) => {
    const volts = asVolts(box.value);
    if (!isWhole(volts) || (event.inputType || "").startsWith("delete")) return;
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

function cellsOf(line) {
  const words = line.trim().split(/[\s;/]+/).filter(Boolean);
  if (words.length === 1 && /^\d+$/.test(words[0])) return words[0].match(/\d{1,3}/g).map(asVolts);
  return words.map(asVolts);
}

function sayCells(volts, count) {
  if (volts.length === 0) return "";
  const said = volts.map((cell, index) => `${index + 1}: ${cell}${isWhole(cell) ? "" : " ?"}`).join("   ");
  if (!count || volts.length === count) return said;
  return `${said}   (${volts.length} of ${count} cells)`;
}

for (const set of document.querySelectorAll(".volts")) {
  const boxes = [...set.querySelectorAll("input[name=volts]")];
  boxes.forEach((_, index) => walk(boxes, index));
  const line = set.querySelector("input[name=volts_line]");
  const output = set.querySelector("output");
  if (line && output) {
    const show = () => { output.textContent = sayCells(cellsOf(line.value), Number(set.dataset.cells)); };
    line.addEventListener("input", show);
    show();
  }
}
