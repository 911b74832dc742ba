import { useRef } from "preact/hooks";
import { Glyph, Mark, Press, type Shape } from "./basics";

export interface PhotoShown {
  id: string;
  /** Null while it is fetched, or where it cannot be had. */
  url: string | null;
  caption: string;
  /** Where it is, or why it cannot be seen, in words. */
  where: string;
  shape: Shape;
  /** Which entry of the list this is, for whoever does not see it. */
  label: string;
}

/** Two ways to a picture: the camera, or what the tablet holds already. */
export function PickPhoto({ words, disabled, onPick }: {
  words: { take: string; choose: string }; disabled: boolean; onPick: (file: File) => void;
}) {
  return (
    <div class="row">
      <Picker id="photo-take" camera kind="main" large disabled={disabled} onPick={onPick}>{words.take}</Picker>
      <Picker id="photo-choose" disabled={disabled} onPick={onPick}>{words.choose}</Picker>
    </div>
  );
}

function Picker({ id, camera = false, kind = "plain", large = false, disabled, onPick, children }: {
  id: string; camera?: boolean; kind?: "main" | "plain"; large?: boolean; disabled: boolean; onPick: (file: File) => void; children: string;
}) {
  const input = useRef<HTMLInputElement>(null);
  return (
    <>
      <Press id={id} kind={kind} large={large} disabled={disabled} onPress={() => input.current?.click()}>{children}</Press>
      <input ref={input} type="file" accept="image/*" hidden tabIndex={-1} data-testid={`${id}-file`}
        {...(camera ? { capture: "environment" } : {})}
        onChange={(event) => {
          const file = event.currentTarget.files?.[0];
          // The same file may be chosen again after it was put aside.
          event.currentTarget.value = "";
          if (file) onPick(file);
        }} />
    </>
  );
}

/** Photographs side by side, each with what it shows and where it is. */
export function PhotoList({ photos, large, onLarge, more }: {
  photos: readonly PhotoShown[]; large: string | null; onLarge: (id: string | null) => void;
  more?: (id: string) => preact.ComponentChildren;
}) {
  return (
    <ul class="photos" data-testid="photos">
      {photos.map((one) => (
        <li key={one.id} class={one.id === large ? "large" : ""} data-testid={`photo-${one.id}`}>
          {one.url ? (
            <button type="button" class="photo" aria-pressed={one.id === large} aria-label={one.label}
              data-testid={`photo-${one.id}-show`} onClick={() => onLarge(one.id === large ? null : one.id)}>
              <img src={one.url} alt="" />
            </button>
          ) : <div class="photo none"><Glyph shape="note" /></div>}
          <span>{one.caption}</span>
          <Mark shape={one.shape} id={`photo-${one.id}-where`}>{one.where}</Mark>
          {more ? more(one.id) : null}
        </li>
      ))}
    </ul>
  );
}
