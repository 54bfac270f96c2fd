import "./styles/index.css";
import { StrictMode } from "react";
import { createRoot } from "react-dom/client";
import { App } from "./app/App.tsx";
import { keepPage } from "./app/newerPage.ts";

const place = document.getElementById("page");
if (!place) throw new Error("index.html has no #page");
createRoot(place).render(
  <StrictMode>
    <App />
  </StrictMode>,
);
if (import.meta.env.PROD) void keepPage();
