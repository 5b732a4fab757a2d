// npm run build: the plug-in package in web/pkg and the static page in web/dist.
import { corePackage } from "./core.mjs";
import { page, pageTypes } from "./page.mjs";
import { nodePackages } from "./setup.mjs";
import { main } from "./steps.mjs";

await main(async () => {
  await nodePackages();
  await corePackage();
  await pageTypes();
  await page();
  process.stdout.write("\nThe page is in web/dist (put it on any static host, under any path), the plug-in package in web/pkg.\n");
});
