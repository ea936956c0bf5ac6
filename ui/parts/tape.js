/** Lengths as they are read from a tape, the way the core says them: sixteenths of an inch, or whole millimetres. */

const SIXTEENTH = 1_587_500;
const MILLIMETRE = 1_000_000;

/** @param {number} sixteenths */
function mixed(sixteenths) {
  const whole = Math.floor(sixteenths / 16);
  let top = sixteenths % 16;
  if (!top) return String(whole);
  let under = 16;
  while (top % 2 === 0) { top /= 2; under /= 2; }
  return `${whole ? `${whole} ` : ''}${top}/${under}`;
}

/** A length in words; `~` stands before it if something was rounded away. @param {number} nanometres @param {import('./types/Unit.ts').Unit} unit */
export function tape(nanometres, unit) {
  const step = unit === 'mm' ? MILLIMETRE : SIXTEENTH;
  const count = Math.round(Math.abs(nanometres) / step);
  const about = count * step === Math.abs(nanometres) ? '' : '~';
  return `${about}${nanometres < 0 ? '-' : ''}${unit === 'mm' ? `${count} mm` : `${mixed(count)} in`}`;
}
