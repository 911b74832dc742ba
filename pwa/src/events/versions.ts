/** What made an event: the build of this app and the version of the dose engine. */

export const EVENT_VERSION = 1;
export const APP_BUILD: string = import.meta.env?.VITE_APP_BUILD ?? "0.1.0";
// From the numbers' own file: the table made of it would come along whole.
export { engine_version as ENGINE_VERSION } from "../../../api/dose/constants.json";
