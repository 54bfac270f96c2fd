import react from "@vitejs/plugin-react";
import { defineConfig } from "vitest/config";

// The page is served by the Go process from web/dist; in development Vite serves it and hands calls on.
export default defineConfig({
  plugins: [react()],
  build: {
    // light-dark(), nesting and @layer are written as they are; older browsers are not rewritten for.
    target: ["chrome123", "edge123", "firefox120", "safari17.5"],
    assetsInlineLimit: 0, // a data: font or script would need a wider content security policy
    manifest: "assets/manifest.json",
    modulePreload: { polyfill: false },
  },
  server: { proxy: { "^/evenpeel\\.": "http://127.0.0.1:8080" } },
  preview: { proxy: { "^/evenpeel\\.": "http://127.0.0.1:8080" } },
  test: {
    environment: "happy-dom",
    include: ["src/**/*.test.{ts,tsx}"],
    restoreMocks: true,
    testTimeout: 20_000,
    setupFiles: ["src/patience.ts"],
  },
});
