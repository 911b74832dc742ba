/** While a laser is registered: whether one with its plate is in the register already, and what stands against that one. */
import { Notice } from "../../parts/basics";
import { serviceOf } from "../../session/house_service";
import { plate } from "../../session/plate";
import { devices, inUse } from "../../session/registers";
import { t } from "../../text";
import { href } from "../route";
import { causeText } from "../service/mark";

interface Props { device_id: string; maker: string; model: string; serial: string }

export function SamePlate({ device_id, maker, model, serial }: Props) {
  const own = plate({ maker, model, serial });
  const known = devices.value.filter((one) => own !== null && one.device_id !== device_id && plate(one) === own);
  if (known.length === 0) return null;
  const w = t.registers.samePlate;
  return (
    <Notice shape="warn" id="same-plate" live>
      {known.map((one) => {
        const { in_service, causes } = serviceOf(one.device_id);
        return (
          <div key={one.device_id}>
            <p>{w.known(one.label)} {inUse(one) ? "" : w.retired}</p>
            {in_service ? null : <p class="strong">{t.service.out}: {causes.map(causeText).join(" ")}</p>}
            <a class="button quiet" href={href("practice", "registers", "device", one.device_id)}>{w.see(one.label)}</a>
          </div>
        );
      })}
      <p>{w.counts}</p>
    </Notice>
  );
}
