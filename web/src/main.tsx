import "./styles/index.css";
import { StrictMode } from "react";
import { createRoot } from "react-dom/client";
import { App } from "./app/App.tsx";

const place = document.getElementById("page");
if (!place) throw new Error("index.html has no #page");
createRoot(place).render(
  <StrictMode>
    <App />
  </StrictMode>,
);
