// Lays every page out in frames of several widths and reports what sticks out, what lies on what, and decimal signs
// that do not stand in line. A page whose texts are split by nobody must not be wider than its frame.
const widths = [1280, 768, 360, 320];
const report = [];

function measure(frame, name) {
  const page = frame.contentDocument;
  const wrong = what => report.push(`WRONG ${name}: ${what}`);
  const width = page.documentElement.clientWidth;
  if (page.documentElement.scrollWidth > width) wrong(`page is ${page.documentElement.scrollWidth} wide`);
  for (const element of page.querySelectorAll('.sheet *:not(svg *, caption)')) {
    const box = element.getBoundingClientRect();
    const scrolls = element.closest('[tabindex]');
    if (!scrolls && box.right > width + 0.5) wrong(`${element.tagName} ends at ${box.right}: ${element.textContent.slice(0, 40)}`);
    if (element.scrollWidth > element.clientWidth + 1 && element.clientWidth > 0 && getComputedStyle(element).overflowX === 'auto' && !scrolls)
      wrong(`${element.className} must scroll and cannot be focused`);
  }
  for (const table of page.querySelectorAll('table')) signs(table, wrong);
  for (const element of page.querySelectorAll("p, dd, li, td, tbody th"))
    if (element.textContent.trim() && parseFloat(getComputedStyle(element).fontSize) < 12) wrong('text below 12 px');
  for (const cell of page.querySelectorAll('td, th, dt, h2'))
    // Heads that stand before each value of a card are there for screen readers only.
    if (!cell.closest('thead') || cell.closest('thead').clientWidth > 1) words(cell, wrong);
  for (const svg of page.querySelectorAll('figure svg')) labels(svg, wrong);
}

// Labels can be read, and none stands on another.
function labels(svg, wrong) {
  const scale = svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
  const texts = [...svg.querySelectorAll('text')];
  const boxes = texts.map(text => text.getBBox());
  for (const [at, text] of texts.entries()) {
    const size = parseFloat(getComputedStyle(text).fontSize) * scale;
    if (size < 10.9) wrong(`label «${text.textContent}» of ${size} px`);
    for (let other = 0; other < at; other += 1) {
      const [one, two] = [boxes[at], boxes[other]];
      const wide = Math.min(one.x + one.width, two.x + two.width) - Math.max(one.x, two.x);
      const high = Math.min(one.y + one.height, two.y + two.height) - Math.max(one.y, two.y);
      if (wide > 0.5 && high > one.height * 0.3) wrong(`label «${text.textContent}» on «${texts[other].textContent}»`);
    }
  }
}

function signs(table, wrong) {
  const columns = new Map();
  for (const fraction of table.querySelectorAll('.fraction')) {
    const at = fraction.parentElement.cellIndex;
    const left = fraction.getBoundingClientRect().left;
    if (getComputedStyle(fraction.parentElement).display === 'block') continue;
    if (!columns.has(at)) columns.set(at, left);
    if (Math.abs(columns.get(at) - left) > 0.6) wrong(`decimal sign of ${fraction.parentElement.outerHTML} off by ${left - columns.get(at)}`);
  }
}

// A word of an everyday length stands on one line.
function words(cell, wrong) {
  const walker = cell.ownerDocument.createTreeWalker(cell, NodeFilter.SHOW_TEXT);
  for (let node = walker.nextNode(); node; node = walker.nextNode())
    for (const word of node.data.matchAll(/[\p{L}\p{N}]{2,20}(?![\p{L}\p{N}])/gu)) {
      if (/[\p{L}\p{N}]/u.test(node.data[word.index - 1] ?? ' ')) continue;
      const range = cell.ownerDocument.createRange();
      range.setStart(node, word.index);
      range.setEnd(node, word.index + word[0].length);
      const lines = new Set([...range.getClientRects()].map(box => Math.round(box.top)));
      if (lines.size > 1) wrong(`«${word[0]}» is broken`);
    }
}

async function run() {
  let frames = 0;
  for (const [name, source] of pages) {
    const frame = document.createElement('iframe');
    frame.style = 'border:0;height:900px';
    frame.srcdoc = source;
    const loaded = new Promise(done => frame.onload = done);
    document.body.append(frame);
    await loaded;
    for (const width of widths) {
      frame.style.width = `${width}px`;
      measure(frame, `${name} at ${width} px`);
      frames += 1;
    }
    frame.remove();
  }
  report.push(`measured ${frames} frames`);
  const pre = document.createElement('pre');
  pre.textContent = report.join('\n');
  document.body.replaceChildren(pre);
}
run();
