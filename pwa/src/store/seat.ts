/**
 * Whether somebody has signed in at this browser as at a desk: then the server is asked who it is
 * before anything is shown, and otherwise it is not. Only a hint: the cookie decides.
 */

const KEY = "dosebook.desk";

export function deskSeen(): boolean {
  try {
    return localStorage.getItem(KEY) !== null;
  } catch {
    return true;
  }
}

export function noteDesk(signedIn: boolean): void {
  try {
    if (signedIn) localStorage.setItem(KEY, "1");
    else localStorage.removeItem(KEY);
  } catch {
    // Without a hint the server is asked each time.
  }
}
