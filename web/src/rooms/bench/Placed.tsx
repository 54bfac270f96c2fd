import { useEffect, useState } from "react";
import { Select } from "../../kit/Field.tsx";
import { Failure } from "../../kit/Notice.tsx";
import { Loading } from "../../kit/Waiting.tsx";
import type { Drawing, LandDesignResponse } from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";
import { LandingPicture } from "./LandingPicture.tsx";
import type { Answer } from "./saved.ts";

type PlacedProps = {
  answer: Pick<Answer<LandDesignResponse>, "data" | "fault" | "retry" | "retrying">;
  /** The size to begin with. */
  size: string;
  drawing?: Drawing | undefined;
};

/** Placed shows where a design lands on the size in hand; another size can be looked at. */
export function Placed({ answer, size, drawing }: PlacedProps) {
  const [looked, setLooked] = useState(size);
  useEffect(() => setLooked(size), [size]); // another garment is in hand
  const { data } = answer;
  if (!data && answer.fault)
    return (
      <Failure
        fault={answer.fault}
        title="Where it lies could not be worked out"
        onRetry={answer.retry}
        retrying={answer.retrying}
      />
    );
  if (!data) return <Loading what="where it lies" />;
  const landing = data.landings.find((one) => one.size === looked) ?? data.landings[0];
  if (!landing || !data.place) return null;
  return (
    <>
      <LandingPicture landing={landing} place={data.place} garment={data.garmentTitle} drawing={drawing} />
      {data.landings.length > 1 && (
        <Select
          label="Size drawn"
          value={landing.size}
          options={[...new Set(data.landings.map((one) => one.size))].map((value) => ({
            value,
            words: value,
          }))}
          onChange={setLooked}
        />
      )}
    </>
  );
}
