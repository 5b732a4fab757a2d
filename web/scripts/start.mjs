// npm start: all set-up that is missing, then the page on http://127.0.0.1:4173 (PORT changes it).
import { corePackage } from "./core.mjs";
import { page } from "./page.mjs";
import { DIST } from "./paths.mjs";
import { portFrom, serve } from "./serve.mjs";
import { nodePackages } from "./setup.mjs";
import { main } from "./steps.mjs";

await main(async () => {
  const port = portFrom(process.env.PORT);
  await nodePackages();
  await corePackage();
  await page();
  const { url } = await serve({ "/": DIST }, port);
  process.stdout.write(`\nNeckwright is on ${url}/ (Ctrl-C ends it)\n`);
});
