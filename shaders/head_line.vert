// One segment of a wide line per instance, as a strip of four corners facing the viewer. Neighbours give the mitre, so that
// segments join without overlap and translucent lines stay even. Open ends are lengthened for a round cap.
#version 330 core

layout(location = 0) in vec3 before;
layout(location = 1) in vec4 from;  // xyz and width in pixels
layout(location = 2) in vec4 to;
layout(location = 3) in vec3 after;
layout(location = 4) in vec2 kind;  // tone, and 1 where a line runs from `from` to `to`

uniform mat4 view;
uniform mat4 projection;
uniform vec2 viewport;
uniform float width_scale;
uniform float width_limit;  // pixels; thin lines for the ghost
uniform float lift;         // toward the viewer, in head units, so that lines win over the surface they lie on
uniform vec2 fade;          // depth from the viewer at which lines are full, and at which they are faintest
uniform vec4 palette[32];

noperspective out vec2 place;  // pixels along the segment from `from`, and across
flat out vec4 extent;          // length, half width at both ends in pixels, 1 or 2 or 3 for caps at from, to, both
out vec4 colour;

vec4 clip_of(vec3 p) { return projection * view * vec4(p, 1.0); }
vec2 pixels(vec4 clip) { return clip.xy / clip.w * 0.5 * viewport; }
vec2 direction(vec2 d, vec2 otherwise) { return dot(d, d) > 1e-6 ? normalize(d) : otherwise; }

void main() {
  if (kind.y < 0.5) {
    gl_Position = vec4(2.0, 2.0, 2.0, 1.0);
    return;
  }
  bool at_end = gl_VertexID >= 2;
  float side = (gl_VertexID & 1) == 0 ? -1.0 : 1.0;
  vec2 p0 = pixels(clip_of(before)), p1 = pixels(clip_of(from.xyz)), p2 = pixels(clip_of(to.xyz)), p3 = pixels(clip_of(after));
  vec2 along = direction(p2 - p1, vec2(1.0, 0.0));
  vec2 across = vec2(-along.y, along.x);
  bool open_from = before == from.xyz, open_to = after == to.xyz;
  vec2 tangent = at_end ? direction(along + direction(p3 - p2, along), along)
                        : direction(along + direction(p1 - p0, along), along);
  if (at_end ? open_to : open_from) tangent = along;
  vec2 mitre = vec2(-tangent.y, tangent.x);

  vec2 half_widths = 0.5 * min(vec2(from.w, to.w) * width_scale, vec2(width_limit));
  float reach = (at_end ? half_widths.y : half_widths.x) + 1.0;
  vec2 offset = mitre * side * reach / max(dot(mitre, across), 0.5);
  if (at_end && open_to) offset += along * reach;
  if (!at_end && open_from) offset -= along * reach;

  vec4 centre = clip_of(at_end ? to.xyz : from.xyz);
  vec4 raised = projection * (view * vec4(at_end ? to.xyz : from.xyz, 1.0) + vec4(0.0, 0.0, lift, 0.0));
  vec2 at = (at_end ? p2 : p1) + offset;
  gl_Position = vec4(at / (0.5 * viewport) * centre.w, raised.z / raised.w * centre.w, centre.w);

  place = vec2(dot(at - p1, along), side * reach);
  extent = vec4(length(p2 - p1), half_widths, (open_from ? 1.0 : 0.0) + (open_to ? 2.0 : 0.0));
  float far = smoothstep(fade.x, fade.y, centre.w);
  colour = palette[int(kind.x)] * vec4(1.0, 1.0, 1.0, mix(1.0, 0.35, far));
}
