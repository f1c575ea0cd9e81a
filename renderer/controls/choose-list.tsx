/** One of many, by name: found by writing part of it, chosen with the arrow keys or the pointer. */
import { useId, useState } from 'react';
import { TextField } from './field.tsx';
import './choose-list.css';

/** Fewer are seen at a glance. */
const FIND_FROM = 7;

export function ChooseList(props: {
  readonly label: string;
  readonly options: readonly { readonly value: string; readonly label: string; readonly note?: string }[];
  readonly value: string | undefined;
  readonly onChange: (value: string) => void;
  /** Said when nothing is left to choose from. */
  readonly nothing: string;
}) {
  const { options, value } = props;
  const [text, setText] = useState('');
  const name = useId();
  const wanted = text.trim().toLocaleLowerCase();
  const found = options.filter((option) => option.label.toLocaleLowerCase().includes(wanted));
  return (
    <>
      {options.length < FIND_FROM ? null : <TextField label="Find" type="search" value={text} onChange={setText} />}
      {found.length === 0 ? (
        <p className="soft">{props.nothing}</p>
      ) : (
        <div role="radiogroup" aria-label={props.label} className="choose-list">
          {found.map((option) => (
            <label key={option.value} className="choose-one">
              <input
                type="radio"
                name={name}
                checked={option.value === value}
                onChange={() => props.onChange(option.value)}
              />
              <span>{option.label}</span>
              {option.note === undefined ? null : <span className="soft small">{option.note}</span>}
            </label>
          ))}
        </div>
      )}
    </>
  );
}
