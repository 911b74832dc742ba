/** What every screen of the desk needs: words for a failure, and the stored papers. */
import { recordPdf } from "../../sync/desk";
import { t } from "../../text";
import { problemText } from "../attempt";

/** A refusal or a failure at the desk, in words. */
export function deskWords(error: unknown): string {
  const { code, status } = error as { code?: string; status?: number };
  if (code === "not_rendered_yet") return t.desk.notRendered;
  if (status === 403) return t.desk.notAllowed;
  return t.desk.failed(problemText(error));
}

/** Open the stored PDF in a tab of its own, from where it is printed or saved. */
export async function openPdf(record_id: string): Promise<void> {
  await follow(record_id, (link) => { link.target = "_blank"; link.rel = "noopener"; });
}

/** Save the stored PDF; no name of a patient in the file's name, which ends up in folders and mail. */
export async function savePdf(record_id: string, version: number): Promise<void> {
  await follow(record_id, (link) => { link.download = `record-${record_id}-v${version}.pdf`; });
}

async function follow(record_id: string, how: (link: HTMLAnchorElement) => void): Promise<void> {
  const blob = await recordPdf(record_id);
  const url = URL.createObjectURL(new Blob([blob], { type: "application/pdf" }));
  const link = document.createElement("a");
  link.href = url;
  how(link);
  link.click();
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
}
