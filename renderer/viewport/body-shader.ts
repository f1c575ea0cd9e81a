/**
 * How bodies are painted: soft light from the upper left of the viewer, edges turned away drawn darker as with a
 * pencil. The same program paints a map of lengths with its contour lines, the hatching of what a trim takes away, the
 * flat inside of a section, and hides what a section or the wipe takes out of the picture. Colours are mixed in linear
 * light and given out as sRGB here, so that the small pictures read back are the same.
 */
import { Color, DoubleSide, ShaderMaterial, Vector4, type IUniform, type Texture } from 'three';

export const MOST_TRIMS = 6;

/** One set for all bodies of a stage. */
export interface SharedUniforms {
  [name: string]: IUniform;
  /** (normal, -distance): drawn where n·x + w is not negative. */
  section: IUniform<Vector4>;
  hasSection: IUniform<number>;
  trims: IUniform<Vector4[]>;
  trimCount: IUniform<number>;
  wipeAt: IUniform<number>;
  cutColour: IUniform<Color>;
  groundColour: IUniform<Color>;
  inkColour: IUniform<Color>;
  pixel: IUniform<number>;
  coarse: IUniform<number>;
}

export function sharedUniforms(): SharedUniforms {
  return {
    section: { value: new Vector4() },
    hasSection: { value: 0 },
    trims: { value: Array.from({ length: MOST_TRIMS }, () => new Vector4()) },
    trimCount: { value: 0 },
    wipeAt: { value: 0 },
    cutColour: { value: new Color() },
    groundColour: { value: new Color() },
    inkColour: { value: new Color() },
    pixel: { value: 1 },
    coarse: { value: 0 },
  };
}

const HIDE = /* glsl */ `
  uniform vec4 section; uniform float hasSection; uniform float wipeAt; uniform float wipeSide;
  bool hidden() {
    if (hasSection > 0.5 && dot(vWorld, section.xyz) + section.w < 0.0) return true;
    return wipeSide * (gl_FragCoord.x - wipeAt) < 0.0;
  }`;

const TO_SRGB = /* glsl */ `
  vec3 toSrgb(vec3 c) {
    return mix(c * 12.92, 1.055 * pow(max(c, vec3(0.0)), vec3(1.0 / 2.4)) - 0.055, step(0.0031308, c));
  }`;

const BODY_VERTEX = /* glsl */ `
  #ifdef OWN_COLOURS
    attribute vec3 tint; varying vec3 vTint;
  #endif
  #ifdef LENGTHS
    attribute float lengthMm; varying float vLengthMm;
  #endif
  varying vec3 vWorld; varying vec3 vSight; varying vec3 vNormal;
  void main() {
    vec4 world = modelMatrix * vec4(position, 1.0);
    vec4 sight = viewMatrix * world;
    vWorld = world.xyz; vSight = sight.xyz; vNormal = normalMatrix * normal;
    #ifdef OWN_COLOURS
      vTint = tint;
    #endif
    #ifdef LENGTHS
      vLengthMm = lengthMm;
    #endif
    gl_Position = projectionMatrix * sight;
  }`;

const BODY_FRAGMENT = /* glsl */ `
  varying vec3 vWorld; varying vec3 vSight; varying vec3 vNormal;
  uniform vec3 skin; uniform float opacity; uniform float glass; uniform float trimmed;
  uniform vec4 trims[${MOST_TRIMS}]; uniform int trimCount;
  uniform vec3 cutColour; uniform vec3 groundColour; uniform vec3 inkColour; uniform float pixel; uniform float coarse;
  #ifdef OWN_COLOURS
    varying vec3 vTint;
  #endif
  #ifdef LENGTHS
    varying float vLengthMm; uniform sampler2D scaleColours; uniform vec3 scale; uniform float pinch;
  #endif
  ${HIDE}
  ${TO_SRGB}
  void main() {
    if (hidden()) discard;
    vec3 n = normalize(vNormal);
    vec3 flatN = normalize(cross(dFdx(vSight), dFdy(vSight)));
    if (dot(n, n) < 0.5 || any(isnan(n))) n = flatN;
    vec3 toEye = isOrthographic ? vec3(0.0, 0.0, 1.0) : normalize(-vSight);
    if (!gl_FrontFacing) n = -n;
    // along a sharp edge the shared normal belongs to neither side: each is lit as it lies
    n = normalize(mix(flatN, n, smoothstep(0.55, 0.85, dot(n, flatN))));
    // the few faces that a stand-in turns over are no sight of the inside
    bool isInside = !gl_FrontFacing && coarse < 0.5;
    float wrap = 0.5 + 0.5 * dot(n, normalize(vec3(-0.45, 0.62, 0.70)));
    float fill = 0.5 + 0.5 * dot(n, normalize(vec3(0.8, -0.25, 0.3)));
    float sky = 0.5 + 0.5 * n.y;
    float light = 0.78 * wrap * wrap + 0.22 * fill * fill + 0.18 * sky + 0.10;
    float facing = abs(dot(n, toEye));
    float pencil = pow(1.0 - clamp(facing, 0.0, 1.0), 3.0);
    vec3 base = skin;
    #ifdef OWN_COLOURS
      base = pow(vTint, vec3(2.2));
    #endif
    #ifdef LENGTHS
      bool known = vLengthMm == vLengthMm && abs(vLengthMm) < 1e6;
      if (known) {
        float at = clamp((vLengthMm - scale.x) / max(scale.y - scale.x, 1e-6), 0.0, 1.0);
        vec3 tone = pow(texture2D(scaleColours, vec2(at * (255.0 / 256.0) + 0.5 / 256.0, 0.5)).rgb, vec3(2.2));
        // A step of 0: no lines.
        float along = vLengthMm / (scale.z > 0.0 ? scale.z : 1.0);
        float spread = fwidth(along);
        float toLine = abs(fract(along + 0.5) - 0.5);
        float isZero = step(abs(along), 0.5);
        float line = (1.0 - smoothstep(0.35, 1.15 + isZero, toLine / max(spread, 1e-6) / pixel * 1.0)) * (1.0 - smoothstep(0.25, 0.55, spread));
        float stripe = step(0.62, fract((gl_FragCoord.x + gl_FragCoord.y) / (6.0 * pixel)));
        if (vLengthMm < 0.0) tone = mix(tone, tone * 0.35, pinch * stripe);
        if (scale.z <= 0.0) line = 0.0;
        base = mix(tone, tone * 0.22, (0.62 + 0.3 * isZero) * line);
        light = mix(light, 0.92, 0.55);
      }
    #endif
    vec3 colour = base * light;
    colour = mix(colour, colour * 0.42, 0.75 * pencil);
    float alpha = opacity;
    if (glass > 0.5) alpha = clamp(opacity * mix(0.16, 1.0, pencil) + 0.04, 0.0, 1.0);
    if (isInside) {
      if (hasSection > 0.5 && glass < 0.5) colour = cutColour * (0.55 + 0.25 * light);
      else colour = mix(colour, vec3(dot(colour, vec3(0.3, 0.6, 0.1))), 0.55) * 0.55;
    }
    if (trimmed > 0.5) {
      for (int i = 0; i < ${MOST_TRIMS}; i++) {
        if (i >= trimCount) break;
        float side = dot(vWorld, trims[i].xyz) + trims[i].w;
        float wide = max(fwidth(side), 1e-6);
        if (side < 0.0) {
          float stripe = smoothstep(0.52, 0.62, fract((gl_FragCoord.x - gl_FragCoord.y) / (8.0 * pixel)));
          vec3 grey = mix(vec3(dot(colour, vec3(0.3, 0.6, 0.1))), groundColour, 0.55);
          colour = mix(grey, mix(grey, inkColour, 0.28), stripe);
        }
        colour = mix(colour, inkColour, 0.8 * (1.0 - smoothstep(0.8, 1.8, abs(side) / wide / pixel)));
      }
    }
    gl_FragColor = vec4(toSrgb(colour), alpha);
  }`;

const LINE_VERTEX = /* glsl */ `
  varying vec3 vWorld;
  uniform float towardEyeMm;
  void main() {
    vec4 world = modelMatrix * vec4(position, 1.0);
    vec4 sight = viewMatrix * world;
    vWorld = world.xyz;
    // nearer along the line of sight: the place in the picture stays, the depth wins
    if (isOrthographic) sight.z += towardEyeMm; else sight.xyz *= 1.0 - towardEyeMm / max(length(sight.xyz), 1.0);
    gl_Position = projectionMatrix * sight;
  }`;

const LINE_FRAGMENT = /* glsl */ `
  varying vec3 vWorld; uniform vec3 skin; uniform float opacity;
  ${HIDE}
  ${TO_SRGB}
  void main() { if (hidden()) discard; gl_FragColor = vec4(toSrgb(skin), opacity); }`;

export interface BodyUniforms extends SharedUniforms {
  skin: IUniform<Color>;
  opacity: IUniform<number>;
  glass: IUniform<number>;
  trimmed: IUniform<number>;
  wipeSide: IUniform<number>;
  scaleColours: IUniform<Texture | null>;
  /** Least, most, step. */
  scale: IUniform<{ x: number; y: number; z: number }>;
  pinch: IUniform<number>;
}

export function bodyMaterial(shared: SharedUniforms): ShaderMaterial {
  const material = new ShaderMaterial({ vertexShader: BODY_VERTEX, fragmentShader: BODY_FRAGMENT, side: DoubleSide });
  material.uniforms = {
    ...shared,
    skin: { value: new Color() },
    opacity: { value: 1 },
    glass: { value: 0 },
    trimmed: { value: 1 },
    wipeSide: { value: 0 },
    scaleColours: { value: null },
    scale: { value: { x: 0, y: 1, z: 1 } },
    pinch: { value: 0 },
  };
  return material;
}

/** Thin lines that obey section and wipe as their body does. */
export function lineMaterial(shared: SharedUniforms, opacity: number, towardEyeMm: number): ShaderMaterial {
  const material = new ShaderMaterial({
    vertexShader: LINE_VERTEX,
    fragmentShader: LINE_FRAGMENT,
    transparent: true,
    depthWrite: false,
  });
  material.uniforms = {
    ...shared,
    skin: { value: new Color() },
    opacity: { value: opacity },
    wipeSide: { value: 0 },
    towardEyeMm: { value: towardEyeMm },
  };
  return material;
}

export { TO_SRGB };
