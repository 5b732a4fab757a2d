// npm start: all set-up that is missing, then the page on http://127.0.0.1:4173 (PORT changes it).
import { corePackage } from "./core.mjs";
import { page } from "./page.mjs";
import { DIST } from "./paths.mjs";
import { serve } from "./serve.mjs";
import { nodePackages } from "./setup.mjs";
import { StepError, main } from "./steps.mjs";

await main(async () => {
  const port = Number(process.env.PORT ?? 4173);
  if (!Number.isInteger(port) || port < 0 || port > 65535) {
    throw new StepError(`PORT is ${process.env.PORT}: give a whole number from 1 to 65535.`);
  }
  await nodePackages();
  await corePackage();
  await page();
  const { url } = await serve({ "/": DIST }, port);
  process.stdout.write(`\nNeckwright is on ${url}/ (Ctrl-C ends it)\n`);
});
