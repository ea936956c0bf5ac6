/**
 * The back button and the back gesture close what lies over the page, as a person expects, and leave the page only when
 * nothing does. For that the history has one step more exactly while something is open.
 */

/** Our own step back is on its way. */
let mine = false;
/** The page is being left: a step back would stop that. */
let leaving = false;

/** @returns {HTMLDialogElement[]} */
const open = () => [...document.querySelectorAll('dialog')].filter((dialog) => dialog.open);

function settle() {
  const more = history.state?.over === true;
  if (open().length > 0 && !more) history.pushState({ over: true }, '');
  if (open().length === 0 && more && !mine && !leaving) {
    mine = true;
    history.back();
  }
}

/** Watches the page; once a page. */
export function watchBack() {
  window.addEventListener('popstate', () => {
    if (mine) mine = false;
    else open().pop()?.close();
    settle();
  });
  window.addEventListener('beforeunload', () => { leaving = true; });
  window.addEventListener('pageshow', () => {
    leaving = false;
    mine = false;
    settle();
  });
}

/** Back closes this dialog. A link in it takes the place of the step that it made. @param {HTMLDialogElement} dialog */
export function backCloses(dialog) {
  settle();
  // What was pressed in it may open another one, or leave the page.
  dialog.addEventListener('close', () => { setTimeout(settle); });
  dialog.addEventListener('click', (event) => {
    const link = event.target instanceof Element ? event.target.closest('a[href]') : null;
    if (!(link instanceof HTMLAnchorElement) || link.target || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    location.replace(link.href);
  });
}
