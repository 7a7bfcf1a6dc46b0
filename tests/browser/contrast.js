// Finds what every text of every page stands on, and reports each pair of colours once with the first text that has it.
// Before this stand `pages` ([name, source] each) and `widths`.
const pairs = new Map();
let texts = 0;

function paper(element) {
  for (; element; element = element.parentElement) {
    const colour = getComputedStyle(element).backgroundColor;
    if (!/, 0\)$|transparent/.test(colour)) return colour;
  }
  return 'rgb(255, 255, 255)';
}

// Colours of a shape; a pattern has those of its parts.
function fills(shape) {
  const { fill, stroke } = getComputedStyle(shape);
  const pattern = fill.match(/url\("?(#[^")]+)/);
  if (!pattern) return fill === 'none' ? [] : [fill];
  const parts = [...shape.ownerDocument.querySelector(pattern[1]).children].map(part => getComputedStyle(part));
  return parts.flatMap(part => [part.fill, part.stroke]).filter(colour => colour !== 'none');
}

// Colours that a label stands on: those of the areas that were painted before it and that it touches.
function under(label, ground) {
  let found = ground;
  const box = label.getBBox();
  for (const shape of label.parentElement.querySelectorAll('path, circle')) {
    if (!(shape.compareDocumentPosition(label) & Node.DOCUMENT_POSITION_FOLLOWING)) continue;
    const area = shape.getBBox();
    // What a letter has above and below it in its line is not the letter.
    const [top, bottom] = [box.y + box.height * 0.2, box.y + box.height * 0.8];
    const apart = area.x >= box.x + box.width || area.x + area.width <= box.x || area.y >= bottom || area.y + area.height <= top;
    if (apart || fills(shape).length === 0) continue;
    const covered = area.x <= box.x && area.x + area.width >= box.x + box.width && area.y <= top && area.y + area.height >= bottom;
    found = covered ? fills(shape) : [...found, ...fills(shape)];
  }
  return found;
}

function note(name, colour, grounds, text) {
  texts += 1;
  for (const ground of grounds) {
    const pair = `${colour} on ${ground}`;
    if (!pairs.has(pair)) pairs.set(pair, `${name}: ${text.trim().slice(0, 40)}`);
  }
}

function measure(page, name) {
  const walker = page.createTreeWalker(page.body, NodeFilter.SHOW_TEXT);
  for (let node = walker.nextNode(); node; node = walker.nextNode()) {
    const element = node.parentElement;
    if (!node.data.trim() || element.closest('script, style, defs')) continue;
    const look = getComputedStyle(element);
    const ground = [paper(element)];
    if (element instanceof page.defaultView.SVGElement) note(name, look.fill, under(element, ground), node.data);
    else note(name, look.color, ground, node.data);
  }
  for (const cell of page.querySelectorAll('[data-label]')) {
    const look = getComputedStyle(cell, '::before');
    if (look.content !== 'none') note(name, look.color, [paper(cell)], cell.dataset.label);
  }
}

async function run() {
  for (const [name, source] of pages)
    for (const width of widths) {
      const frame = document.createElement('iframe');
      frame.style = `border:0;height:900px;width:${width}px`;
      frame.srcdoc = source;
      const loaded = new Promise(done => frame.onload = done);
      document.body.append(frame);
      await loaded;
      measure(frame.contentDocument, `${name} ${width} px`);
      frame.remove();
    }
  const pre = document.createElement('pre');
  pre.textContent = [...pairs].map(([pair, where]) => `${pair} · ${where}`).join('\n') + `\n${texts} texts`;
  document.body.replaceChildren(pre);
}
run();
