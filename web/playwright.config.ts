import { defineConfig } from "@playwright/test";

// Runs the built page in the browser of the system. E2E_URL points at a running service (the Go process with its demo
// data); without it the built page is served alone, and only what needs no service can be tested.
const served = process.env.E2E_URL;
const alone = "http://127.0.0.1:4173";

export default defineConfig({
  testDir: "e2e",
  outputDir: "test-results",
  fullyParallel: true,
  workers: 2,
  reporter: [["list"]],
  timeout: 30_000,
  expect: { timeout: 20_000 }, // what is slow on a shared machine is not wrong
  retries: process.env.CI ? 1 : 0, // a shared machine may stall; what fails twice has failed
  use: {
    baseURL: served ?? alone,
    locale: "en-GB",
    timezoneId: "Europe/Warsaw",
    launchOptions: {
      executablePath: "/usr/bin/chromium",
      args: [
        "--no-sandbox",
        "--disable-gpu",
        "--disable-quic",
        "--no-first-run",
        "--disable-background-networking",
        "--disable-component-update",
        "--disable-sync",
      ],
    },
  },
  ...(served
    ? {}
    : {
        webServer: {
          command: "npx vite preview --port 4173 --strictPort --host 127.0.0.1",
          url: alone,
          reuseExistingServer: true,
        },
      }),
});
