// What is asked of job cards, for the next visit, and what was measured on each neck.
import { type JsonObject } from "../state/json.ts";
import { FOR_GOOD, keepChoices, readChoices } from "./choices.ts";

const KEPT_AS = "neckwright-job-card/1";

export const keptCard = () => readChoices(FOR_GOOD, `${KEPT_AS} card`);
export const keepCard = (card: JsonObject) => keepChoices(FOR_GOOD, `${KEPT_AS} card`, card);
/** Temper that each metal is looked at in. */
export const keptTempers = () => readChoices(FOR_GOOD, `${KEPT_AS} tempers`);
export const keepTempers = (tempers: JsonObject) => keepChoices(FOR_GOOD, `${KEPT_AS} tempers`, tempers);
/** Of the neck whose job has that name. */
export const keptMade = (name: string) => readChoices(FOR_GOOD, `${KEPT_AS} made of ${name}`);
export const keepMade = (name: string, made: JsonObject) => keepChoices(FOR_GOOD, `${KEPT_AS} made of ${name}`, made);
