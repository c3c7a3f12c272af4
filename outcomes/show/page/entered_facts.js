/** Chair time, cost and calendar, where an answer has them: worked out with what was entered. */

const NAMES = [["chair_time", "Chair time"], ["cost", "Cost"], ["calendar", "Calendar"], ["condition", "Condition"]];

/**
 * Facts about time and money.
 * @param {Object} answer Of `answerSessions`; `said` has each in words.
 * @returns {Array<[string, string]>} Those that the answer doesn't have left out.
 */
export function enteredFacts(answer) {
  return NAMES.filter(([key]) => answer.said[key]).map(([key, name]) => [name, answer.said[key]]);
}
