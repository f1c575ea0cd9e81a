/** A length as people write it; what was read is shown beside it before anything is kept. */
import { useEffect, useRef, useState, type ReactNode } from 'react';
import { Field } from './field.tsx';
import { lengthNumber, lengthText, parseLength, type LengthUnit } from './parse-length.ts';

export interface LengthFieldProps {
  readonly label: ReactNode;
  readonly isLabelHidden?: boolean;
  readonly hint?: ReactNode;
  /** Trouble from elsewhere; the field's own comes first. */
  readonly trouble?: string | undefined;
  readonly unit?: LengthUnit;
  /** What it shows at first, and whenever this changes. */
  readonly valueMm?: number | undefined;
  readonly digits?: number;
  readonly leastMm?: number;
  readonly mostMm?: number;
  readonly placeholder?: string;
  readonly autoFocus?: boolean;
  /** With every change; undefined while it cannot be read or is empty. */
  readonly onRead?: (mm: number | undefined) => void;
  /** On Enter, and on leaving a field that was changed. */
  readonly onCommit?: (mm: number) => void;
}

export function LengthField(props: LengthFieldProps) {
  const { unit = 'mm', digits = 1, valueMm } = props;
  const shown = valueMm === undefined ? '' : trimmed(lengthNumber(valueMm, unit, digits));
  const [text, setText] = useState(shown);
  const [wasLeft, setLeft] = useState(false);
  const changed = useRef(false);
  useEffect(() => {
    setText(shown);
    setLeft(false);
    changed.current = false;
  }, [shown]);

  const read = parseLength(text, unit, props.leastMm);
  const outside = read.ok ? rangeTrouble(read.mm, props, unit) : undefined;
  const isPlain = /^\s*[-−]?\d+([.,]\d+)?\s*$/.test(text);
  const trouble = text.trim() === '' ? undefined : read.ok ? outside : wasLeft ? read.sentence : undefined;
  const commit = (): void => {
    if (!changed.current || !read.ok || outside !== undefined) return;
    changed.current = false;
    props.onCommit?.(read.mm);
  };
  return (
    <Field
      label={props.label}
      hint={props.hint}
      trouble={trouble ?? props.trouble}
      isLabelHidden={props.isLabelHidden ?? false}
    >
      {({ id, describedBy }) => (
        <>
          <span className="length-input">
            <input
              id={id}
              className="field-input"
              inputMode="text"
              autoComplete="off"
              spellCheck={false}
              aria-describedby={[`${id}-read`, describedBy].filter(Boolean).join(' ')}
              aria-invalid={trouble !== undefined || undefined}
              placeholder={props.placeholder}
              autoFocus={props.autoFocus}
              value={text}
              onChange={(event) => {
                const next = event.target.value;
                changed.current = true;
                setText(next);
                setLeft(false);
                const nextRead = parseLength(next, unit, props.leastMm);
                const fine = nextRead.ok && rangeTrouble(nextRead.mm, props, unit) === undefined;
                props.onRead?.(fine ? nextRead.mm : undefined);
              }}
              onBlur={() => {
                setLeft(true);
                commit();
              }}
              onKeyDown={(event) => {
                if (event.key !== 'Enter') return;
                setLeft(true);
                commit();
              }}
            />
            {isPlain || text === '' ? (
              <span className="length-unit" aria-hidden="true">
                {unit}
              </span>
            ) : null}
          </span>
          <span className="length-read" id={`${id}-read`} aria-live="polite">
            {read.ok && !(isPlain && unit === 'mm') ? `= ${lengthText(read.mm, 'mm', Math.max(1, digits))}` : ''}
          </span>
        </>
      )}
    </Field>
  );
}

/** A length that counts with every key, and follows what is decided elsewhere: by a slider, in the view, by undo. */
export function LiveLengthField({
  valueMm,
  onRead,
  autoFocus = false,
  ...rest
}: Omit<LengthFieldProps, 'onCommit'> & { readonly onRead: (mm: number | undefined) => void }) {
  const [held, setHeld] = useState({ shownMm: valueMm, readMm: valueMm, round: 0 });
  if (held.readMm !== valueMm) setHeld({ shownMm: valueMm, readMm: valueMm, round: held.round + 1 });
  return (
    <LengthField
      {...rest}
      key={held.round}
      autoFocus={autoFocus && held.round === 0}
      valueMm={held.shownMm}
      onRead={(mm) => {
        setHeld({ ...held, readMm: mm });
        onRead(mm);
      }}
    />
  );
}

const trimmed = (number: string): string => (number.includes('.') ? number.replace(/\.?0+$/, '') : number);

const rounded = (mm: number, unit: LengthUnit): string => `${trimmed(lengthNumber(mm, unit))} ${unit}`;

function rangeTrouble(mm: number, props: LengthFieldProps, unit: LengthUnit): string | undefined {
  const { leastMm, mostMm } = props;
  if (leastMm !== undefined && mm < leastMm) return `At least ${rounded(leastMm, unit)}.`;
  if (mostMm !== undefined && mm > mostMm) return `At most ${rounded(mostMm, unit)}.`;
  return undefined;
}
