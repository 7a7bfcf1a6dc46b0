// Runs axe-core in every page, laid out in frames, and reports what breaks a rule and what axe could not decide.
// Before this stand `pages` ([name, source] each), `widths`, `rules` and `axeSource`.
const report = [];

const undecided = new Map();

function broken(where, result) {
  for (const node of result.nodes)
    report.push(`VIOLATION ${where}: ${result.id} [${result.impact}] ${node.target.join(' ')} · ${node.failureSummary}`.replace(/\s+/g, ' '));
}

// What could not be decided, once for each reason.
function undecidable(where, result) {
  for (const node of result.nodes) {
    const why = [...node.any, ...node.all, ...node.none].map(check => check.message).join('; ');
    const kind = `${result.id}: ${why}`.replace(/\s+/g, ' ');
    const [count, first] = undecided.get(kind) ?? [0, `${where} ${node.target.join(' ')}`];
    undecided.set(kind, [count + 1, first]);
  }
}

async function run() {
  let runs = 0, passes = 0;
  for (const [name, source] of pages)
    for (const width of widths) {
      const frame = document.createElement('iframe');
      frame.style = `border:0;height:900px;width:${width}px`;
      frame.title = name;
      frame.srcdoc = source;
      const loaded = new Promise(done => frame.onload = done);
      document.body.append(frame);
      await loaded;
      const page = frame.contentDocument;
      page.head.append(Object.assign(page.createElement('script'), { textContent: axeSource }));
      // The shade of a region that scrolls is an image to axe; what it does to contrast is measured by `contrast.js`.
      page.head.append(Object.assign(page.createElement('style'), { textContent: '[tabindex]{background:none!important}' }));
      const { axe, matchMedia } = frame.contentWindow;
      const found = await axe.run(page, { runOnly: { type: 'tag', values: rules } });
      const scheme = matchMedia.call(frame.contentWindow, '(prefers-color-scheme: dark)').matches ? 'dark' : 'light';
      const where = `${name} ${width} px ${scheme}`;
      for (const result of found.violations) broken(where, result);
      for (const result of found.incomplete) undecidable(where, result);
      passes += found.passes.length;
      runs += 1;
      if (runs === 1) report.push(`axe ${axe.version} ${scheme}`);
      frame.remove();
    }
  for (const [kind, [count, first]] of undecided) report.push(`UNDECIDED ${kind} · ${count} times, first ${first}`);
  report.push(`${runs} runs, ${passes} rules passed`);
  const pre = document.createElement('pre');
  pre.textContent = report.join('\n');
  document.body.replaceChildren(pre);
}
run();
