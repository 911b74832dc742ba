import { Mark } from "../../parts/basics";
import { cutTrend, trendsInUse } from "../../session/optics";
import { trendAlarm } from "../../session/trend";
import { t } from "../../text";
import { nameOf } from "./names";
import { meaningSentences } from "./words";

/** What the trends of one laser ask somebody to look at now, a sentence each; nothing where there is nothing. */
export function TrendAlarms({ device_id }: { device_id: string }) {
  const cuts = cutTrend(device_id);
  const loud = [
    ...trendsInUse(device_id).filter(({ trend }) => trendAlarm(trend)).map((one) => ({ key: one.key, name: nameOf(one), said: meaningSentences(one.trend, "power")[0] })),
    ...(cuts && trendAlarm(cuts.trend) ? [{ key: "cuts", name: t.trend.cuts, said: meaningSentences(cuts.trend, "cuts")[0] }] : []),
  ];
  return <>{loud.map(({ key, name, said }) => <Mark key={key} shape="warn" id="trend-alarm">{name}: {said}</Mark>)}</>;
}
