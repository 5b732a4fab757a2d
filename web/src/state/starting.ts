// The jobs to start from, as they are shipped: in the page's own script, so that the first neck waits for no question.
import alto from "../../../examples/jobs/alto.json" with { type: "json" };
import tenor from "../../../examples/jobs/tenor.json" with { type: "json" };
import type { Json } from "./json.ts";

export type Voice = "alto" | "tenor";

export const STARTING_JOBS: Readonly<Record<Voice, Json>> = { alto, tenor };
