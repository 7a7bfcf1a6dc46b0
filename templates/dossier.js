(() => {
  const find = document.getElementById('find'), sought = find.querySelector('input'), found = find.querySelector('output');
  let entries = null;
  const read = () => [...document.querySelectorAll('main article, main tbody tr:not(.group)')].map(entry => {
    const group = entry.parentElement.querySelector(':scope > .group');
    return { entry, text: ((group ? group.textContent + ' ' : '') + entry.textContent).toLowerCase() };
  });
  const show = () => {
    entries ??= read();
    const words = sought.value.toLowerCase().split(/\s+/).filter(Boolean);
    let shown = 0;
    for (const { entry, text } of entries) {
      entry.hidden = !words.every(word => text.includes(word));
      shown += entry.hidden ? 0 : 1;
    }
    for (const body of document.querySelectorAll('main tbody'))
      body.hidden = [...body.querySelectorAll('tr:not(.group)')].every(row => row.hidden);
    found.textContent = words.length ? found.dataset.found.replace('{n}', shown).replace('{m}', entries.length) : '';
  };
  sought.addEventListener('input', show);
  find.hidden = false;
})();
