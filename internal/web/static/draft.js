/* draft.js: holds and findings are settled from the number pad. Without it every form works by hand. */
(function () {
  /* Enter goes on, where nothing else has the focus. */
  document.addEventListener('keydown', function (e) { var go = document.querySelector('[data-enter]'); if (go && e.key === 'Enter' && e.target === document.body && !e.repeat) { e.preventDefault(); go.click(); } });
  var form = document.querySelector('form[data-hold]');
  if (!form) return;
  var all = function (selector) { return [].slice.call(form.querySelectorAll(selector)); };
  var choices = all('.readings input[type=radio]'), owns = choices.filter(function (r) { return r.value.slice(0, 4) === 'own '; }), readings = choices.filter(function (r) { return owns.indexOf(r) < 0; });
  var reasons = all('.whys:not([hidden]) input[type=radio]'), own = form.querySelector('[name=own]'), words = form.querySelector('[name=words]');
  function chosen(list) { return list.some(function (r) { return r.checked; }); }
  /* Whoever lets a finding stand has said why with that. */
  function known() { return !reasons.length || chosen(reasons) || words && words.value.trim() || choices.some(function (r) { return r.checked && r.value.slice(0, 6) === 'stands'; }); }
  function pick(radio) { if (!radio || radio.disabled) return; radio.checked = true; radio.focus(); }
  if (own) own.addEventListener('input', function () { if (own.value && !chosen(owns)) owns[0].checked = true; });
  form.addEventListener('submit', function (e) { if (chosen(choices) && !known() && reasons.length && document.activeElement !== reasons[0]) { e.preventDefault(); reasons[0].focus(); } });
  /* Whoever presses Enter twice sends it once: the second would be of what is no longer asked. */
  var sent = false;
  form.addEventListener('submit', function (e) { if (e.defaultPrevented) return; if (sent) e.preventDefault(); sent = true; });
  window.addEventListener('pageshow', function () { sent = false; });
  document.addEventListener('keydown', function (e) {
    if (e.ctrlKey || e.metaKey || e.altKey || e.defaultPrevented || e.repeat && e.key === 'Enter') return;
    if (e.target.matches('input:not([type=radio]), textarea, select')) { if (e.key === 'Escape') { e.target.blur(); e.preventDefault(); } return; }
    var follow = e.key === '*' ? '[data-skip]' : e.key === 'Backspace' ? '[data-back]' : '';
    if (follow) { var a = document.querySelector(follow); if (a) { e.preventDefault(); a.click(); } return; }
    if (e.key === 'Escape') { choices.concat(reasons).forEach(function (r) { r.checked = false; }); e.preventDefault(); return; }
    if (e.key === '0' && own) { e.preventDefault(); pick(owns[0]); own.focus(); return; }
    if (e.key === '/' && words) { e.preventDefault(); words.focus(); return; }
    if (/^[1-9]$/.test(e.key)) {
      e.preventDefault();
      /* First what it says, then how one knows; where both are said, what it says. */
      pick((!chosen(choices) || known() ? readings : reasons)[e.key - 1]);
      return;
    }
    if (e.key === 'Enter' && !e.target.matches('a, button, summary')) { e.preventDefault(); form.requestSubmit(form.querySelector('.go')); }
  });
})();
