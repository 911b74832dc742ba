import "../../styles/drawings.css";
import "../../styles/room.css";
import { t } from "../../text";
import { frameOf, reaches, segments, type RoomPlan } from "./room-shapes";
import { roomSentences } from "./room-words";

interface Props {
  id: string;
  plan: RoomPlan;
  distances: readonly { name: string; distance_mm: number }[];
  /** The zone that was decided on, where it is smaller than the computed one. */
  decided_mm?: number | null;
}

/** The room from above, to scale, with the distances drawn in; the words below say the same. */
export function RoomDrawing({ id, plan, distances, decided_mm = null }: Props) {
  const frame = frameOf(plan.corners);
  const found = reaches(plan, distances);
  const { source } = plan;
  return (
    <figure class="drawing room" data-testid={id}>
      <svg viewBox={`${frame.x_mm} ${frame.y_mm} ${frame.width_mm} ${frame.height_mm}`} aria-hidden="true">
        <clipPath id={`${id}-walls`}><polygon points={points(plan)} /></clipPath>
        <polygon class="floor" points={points(plan)} />
        <g clip-path={`url(#${id}-walls)`}>
          {frame.metres.x.map((x) => <path key={`x${x}`} class="rule" d={`M${x} ${frame.y_mm}v${frame.height_mm}`} />)}
          {frame.metres.y.map((y) => <path key={`y${y}`} class="rule" d={`M${frame.x_mm} ${y}h${frame.width_mm}`} />)}
          {found.map((one) => (one.inside
            ? <circle key={one.name} class={`reach ${one.name}`} cx={source.x_mm} cy={source.y_mm} r={one.distance_mm} />
            : <polygon key={one.name} class={`reach ${one.name}`} points={points(plan)} />))}
          {decided_mm === null ? null : <circle class="decided" cx={source.x_mm} cy={source.y_mm} r={decided_mm} />}
        </g>
        {plan.chairs.map((chair, i) => (
          <rect key={i} class="chair" x={chair.x_mm - 300} y={chair.y_mm - 850} width={600} height={1700} rx={150}
            transform={`rotate(${chair.turn_deg} ${chair.x_mm} ${chair.y_mm})`} />
        ))}
        <polygon class="walls" points={points(plan)} />
        {segments(plan).map((one, i) => (
          <g key={i}>
            <path class={one.kind} d={`M${one.from.x_mm} ${one.from.y_mm}L${one.to.x_mm} ${one.to.y_mm}`} />
            <text x={one.middle.x_mm} y={one.middle.y_mm} text-anchor="middle">{t.rooms.opening[one.kind as "door" | "window"]}</text>
          </g>
        ))}
        <path class="source" d={`M${source.x_mm - 110} ${source.y_mm}h220M${source.x_mm} ${source.y_mm - 110}v220`} />
      </svg>
      <figcaption class="small" data-testid={`${id}-words`}>
        {roomSentences(plan, distances, decided_mm).map((sentence) => <p key={sentence}>{sentence}</p>)}
      </figcaption>
    </figure>
  );
}

const points = (plan: RoomPlan): string => plan.corners.map(({ x_mm, y_mm }) => `${x_mm},${y_mm}`).join(" ");
