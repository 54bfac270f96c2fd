import { useUnits } from "../../kit/choices.ts";
import { Notice } from "../../kit/Notice.tsx";
import { showInstant } from "../../units/durations.ts";
import type { News } from "./useNews.ts";

/** NewsLine says that a release came while the screen was open. */
export function NewsLine({ news }: { news: News | null }) {
  const { locale } = useUnits();
  if (!news) return null;
  return (
    <Notice kind="info" live title={`Release ${news.release} is here.`}>
      <p>
        {news.effective !== null && news.effective > Date.now()
          ? `It comes into force on ${showInstant(news.effective, locale)}; until then the settings stay.`
          : "What you see was asked for again and is the newest."}
      </p>
    </Notice>
  );
}
