// What may be done now, and what minutes, covers and parts cost.

export const CUSTOMER = 0;
export const TECHNICIAN = 1;

/** Cost of one minute: on the phone the customer works too. */
export function minuteCost(model, onSite) {
  return model.costs.technician_minute + (onSite ? 0 : model.costs.customer_minute);
}

/** Minutes to open and close a cover that is still shut. */
export function coverMinutes(model, cover, situation) {
  const open = situation.onSite && situation.covers.has(cover);
  return cover >= 0 && !open ? model.cover_minutes[cover] : 0;
}

/** Whether the one who is at the machine may look, and has not looked yet. */
export function mayCheck(situation, number, check) {
  const told = (who) => situation.answered.has(`${number} ${who}`);
  if (situation.onSite) return !(!check.site && told(CUSTOMER)) && !told(TECHNICIAN);
  const allowed = check.phone && check.by.includes(CUSTOMER) && situation.customerChecks[number];
  return Boolean(allowed) && !told(CUSTOMER) && !told(TECHNICIAN);
}

/** Whether the one who is at the machine may do it, and has not done it yet. */
export function mayRemedy(situation, number, remedy) {
  const done = (who) => situation.tried.has(`${number} ${who}`);
  if (situation.onSite) return remedy.by.includes(TECHNICIAN) && !done(TECHNICIAN);
  const mine = remedy.phone && remedy.by.includes(CUSTOMER) && situation.customerRemedies[number];
  return Boolean(mine) && !done(CUSTOMER) && !done(TECHNICIAN);
}

/** Parts at buying price, and a second trip where one is not aboard. */
export function partsCost(model, remedy, situation) {
  if (!remedy.parts.length) return 0;
  const { second_visit: trip, waiting_day: day, part_wait_days: days } = model.costs;
  const parts = remedy.parts.reduce((sum, part) => sum + model.part_price[part], 0);
  return parts + (remedy.parts.every((part) => situation.aboard[part]) ? 0 : trip + day * days);
}
