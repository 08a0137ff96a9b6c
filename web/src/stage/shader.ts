// How the prop's surface is drawn: like the drawings, matt on paper with ink where the surface turns away, and by its own light.

/** Most cuts that are drawn on the surface. */
export const MOST_CUTS = 32;

export const vertex = /* glsl */ `
attribute vec2 lightAt;
uniform vec3 origin;
uniform float size;
uniform vec3 shift;
uniform float swell;
varying vec3 vNormal;
varying vec3 vPlace;
varying vec2 vLightAt;
varying float vAround;

void main() {
  vPlace = origin + size * position;
  vLightAt = lightAt;
  vAround = fract(lightAt.x);
  vNormal = normalize(mat3(modelViewMatrix) * normal);
  gl_Position = projectionMatrix * modelViewMatrix * vec4(vPlace + shift + swell * normal, 1.0);
}
`;

export const fragment = /* glsl */ `
uniform vec3 ink;
uniform vec3 ground;
uniform vec3 tone;
uniform float room;
uniform float lit;
uniform sampler2D glow;
uniform bool glows;
uniform bool outline;
uniform bool opened;
uniform vec4 opening;
uniform vec4 cuts[${MOST_CUTS}];
uniform int cutCount;
uniform vec4 station;
uniform bool chosen;
uniform bool marking;
uniform float perPixel;
uniform float density;
varying vec3 vNormal;
varying vec3 vPlace;
varying vec2 vLightAt;
varying float vAround;

float line(float distance, float width) {
  return 1.0 - smoothstep(width, width + 1.0, abs(distance) / perPixel);
}

void main() {
  if (opened && dot(vPlace, opening.xyz) > opening.w) discard;
  if (outline) {
    // The back of a slightly larger prop: a line of ink round the whole.
    gl_FragColor = vec4(room > 0.5 ? ink : mix(ink, vec3(1.0), 0.22), 1.0);
    #include <colorspace_fragment>
    return;
  }
  // Pixels of the page, however many dots of the canvas each has: hatches are as wide on every screen and in every sketch.
  vec2 at = gl_FragCoord.xy / density;
  bool inner = !gl_FrontFacing;
  vec3 n = normalize(vNormal);
  if (inner) n = -n;
  float key = max(dot(n, normalize(vec3(-0.35, 0.65, 0.7))), 0.0);
  float sky = 0.5 + 0.5 * n.y;
  vec3 colour = tone * (0.30 + 0.62 * key + 0.22 * sky);
  if (inner && opened) {
    // Seen from within its material: the cut face, hatched at 45 degrees as in a section.
    float stripe = fract((at.x + at.y) / 7.0);
    colour = mix(tone, ink, stripe < 0.18 ? 0.8 : 0.12);
  }
  if (chosen) colour = mix(colour, ink, 0.28 * step(0.5, fract((at.x - at.y) / 6.0)) + 0.1);
  colour *= room;
  if (glows && lit > 0.0 && !(inner && opened)) {
    // Brighter than the screen's white is bent gently towards it.
    // Where the turn begins anew, a triangle has both its ends: of the two ways to count, the one that does not leap.
    float around = fwidth(vAround) < fwidth(vLightAt.x) ? vAround : vLightAt.x;
    vec3 light = texture2D(glow, vec2(around, vLightAt.y)).rgb * lit;
    colour += light / (1.0 + 0.5 * max(max(light.r, light.g), light.b));
  }
  if (marking) {
    vec3 drawn = room > 0.5 ? ink : mix(ink, vec3(0.85), 0.75);
    for (int i = 0; i < ${MOST_CUTS}; i += 1) {
      if (i >= cutCount) break;
      colour = mix(colour, drawn, (room > 0.5 ? 0.8 : 0.45) * line(dot(cuts[i].xyz, vPlace) - cuts[i].w, 0.6));
    }
    if (dot(station.xyz, station.xyz) > 0.5) colour = mix(colour, drawn, line(dot(station.xyz, vPlace) - station.w, 0.4));
  }
  gl_FragColor = vec4(colour, 1.0);
  #include <colorspace_fragment>
}
`;
