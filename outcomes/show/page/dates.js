/** Days and months in words, the same whatever the tablet's language is. */

const MONTHS = [
  "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December",
];

/**
 * A day in words.
 * @param {Date} day By the tablet's own calendar.
 * @returns {string} As "5 March 2026".
 */
export function dayInWords(day) {
  return `${day.getDate()} ${MONTHS[day.getMonth()]} ${day.getFullYear()}`;
}

/**
 * A month in words.
 * @param {string} month As "2026-03"; may be empty.
 * @returns {string} As "March 2026".
 */
export function monthInWords(month) {
  const [year, number] = month.split("-");
  return number ? `${MONTHS[Number(number) - 1]} ${year}` : "";
}
