/** Fields with their label, a hint and the trouble, tied together for those who hear the screen. */
import { useId, type CSSProperties, type InputHTMLAttributes, type ReactNode } from 'react';
import './field.css';

interface Around {
  readonly label: ReactNode;
  readonly hint?: ReactNode;
  readonly trouble?: string | undefined;
  /** The label is only heard; the field's place says the rest. */
  readonly isLabelHidden?: boolean;
}

interface FieldProps extends Around {
  readonly children: (ids: { id: string; describedBy: string | undefined }) => ReactNode;
}

export function Field({ label, hint, trouble, isLabelHidden = false, children }: FieldProps) {
  const id = useId();
  const hasTrouble = trouble !== undefined && trouble !== '';
  const described = [hint === undefined ? '' : `${id}-hint`, hasTrouble ? `${id}-trouble` : '']
    .filter(Boolean)
    .join(' ');
  return (
    <div className={`field${hasTrouble ? ' field-troubled' : ''}`}>
      <label htmlFor={id} className={isLabelHidden ? 'only-heard' : 'field-label'}>
        {label}
      </label>
      {children({ id, describedBy: described === '' ? undefined : described })}
      {hint === undefined ? null : (
        <span className="field-hint" id={`${id}-hint`}>
          {hint}
        </span>
      )}
      <span className="field-trouble" id={`${id}-trouble`} aria-live="polite">
        {hasTrouble ? trouble : ''}
      </span>
    </div>
  );
}

type InputProps = Omit<InputHTMLAttributes<HTMLInputElement>, 'onChange' | 'value'>;

export interface TextFieldProps extends Around, InputProps {
  readonly value: string;
  readonly onChange: (text: string) => void;
}

export function TextField({ label, hint, trouble, isLabelHidden, value, onChange, ...rest }: TextFieldProps) {
  return (
    <Field {...around(label, hint, trouble, isLabelHidden)}>
      {({ id, describedBy }) => (
        <input
          type="text"
          autoComplete="off"
          {...rest}
          id={id}
          aria-describedby={describedBy}
          aria-invalid={trouble !== undefined && trouble !== '' ? true : undefined}
          className="field-input"
          value={value}
          onChange={(event) => onChange(event.target.value)}
        />
      )}
    </Field>
  );
}

export interface TextAreaProps extends Around {
  readonly value: string;
  readonly onChange: (text: string) => void;
  readonly rows?: number;
  readonly maxLength?: number;
  readonly onBlur?: () => void;
}

export function TextArea({ label, hint, trouble, isLabelHidden, value, onChange, rows = 3, ...rest }: TextAreaProps) {
  return (
    <Field {...around(label, hint, trouble, isLabelHidden)}>
      {({ id, describedBy }) => (
        <textarea
          {...rest}
          id={id}
          aria-describedby={describedBy}
          className="field-input"
          rows={rows}
          value={value}
          onChange={(event) => onChange(event.target.value)}
        />
      )}
    </Field>
  );
}

export interface SelectFieldProps<T extends string> extends Around {
  readonly value: T;
  readonly onChange: (value: T) => void;
  readonly options: readonly { readonly value: T; readonly label: string }[];
}

export function SelectField<T extends string>(props: SelectFieldProps<T>) {
  const { label, hint, trouble, isLabelHidden, value, onChange, options } = props;
  return (
    <Field {...around(label, hint, trouble, isLabelHidden)}>
      {({ id, describedBy }) => (
        <select
          id={id}
          aria-describedby={describedBy}
          className="field-input"
          value={value}
          onChange={(event) => onChange(event.target.value as T)}
        >
          {options.map((option) => (
            <option key={option.value} value={option.value}>
              {option.label}
            </option>
          ))}
        </select>
      )}
    </Field>
  );
}

/** Like fields beside one another, as many as there is room for. `least`: breadth below which one goes to the next line. */
export function FieldRow({ least, children }: { readonly least?: string; readonly children: ReactNode }) {
  return (
    <div className="field-row" style={{ '--field-least': least } as CSSProperties}>
      {children}
    </div>
  );
}

export function CheckField(props: {
  readonly label: ReactNode;
  readonly hint?: ReactNode;
  readonly checked: boolean;
  readonly onChange: (checked: boolean) => void;
}) {
  const id = useId();
  return (
    <div className="check">
      <input
        type="checkbox"
        id={id}
        checked={props.checked}
        aria-describedby={props.hint === undefined ? undefined : `${id}-hint`}
        onChange={(event) => props.onChange(event.target.checked)}
      />
      <label htmlFor={id}>{props.label}</label>
      {props.hint === undefined ? null : (
        <span className="field-hint" id={`${id}-hint`}>
          {props.hint}
        </span>
      )}
    </div>
  );
}

/** One of a few, side by side, like the ends of a rule. */
export function ChoiceField<T extends string>(props: {
  readonly label: ReactNode;
  readonly isLabelHidden?: boolean;
  readonly value: T;
  readonly onChange: (value: T) => void;
  readonly options: readonly { readonly value: T; readonly label: ReactNode; readonly heard?: string }[];
}) {
  const id = useId();
  return (
    <fieldset className="choice">
      <legend className={props.isLabelHidden === true ? 'only-heard' : 'field-label'}>{props.label}</legend>
      <div className="choice-row">
        {props.options.map((option) => (
          <label key={option.value} className="choice-one">
            <input
              type="radio"
              name={id}
              value={option.value}
              aria-label={option.heard}
              checked={option.value === props.value}
              onChange={() => props.onChange(option.value)}
            />
            <span>{option.label}</span>
          </label>
        ))}
      </div>
    </fieldset>
  );
}

function around(label: ReactNode, hint: ReactNode, trouble: string | undefined, isLabelHidden: boolean | undefined) {
  return { label, hint, trouble, isLabelHidden: isLabelHidden ?? false };
}
