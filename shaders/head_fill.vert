// Surfaces in flat colours. With an outline width the skin is blown up along its normals by that many pixels; drawn from the
// inside and set back a little, what shows past the real surface is the silhouette.
#version 330 core

layout(location = 0) in vec3 at;
layout(location = 1) in vec3 normal;
layout(location = 2) in float tone;

uniform mat4 view;
uniform mat4 projection;
uniform vec2 viewport;
uniform float outline_px;
uniform vec4 palette[32];
uniform vec4 outline_colour;

out vec4 colour;

void main() {
  vec4 clip = projection * view * vec4(at, 1.0);
  colour = palette[int(tone)];
  if (outline_px > 0.0) {
    vec2 out_ward = (mat3(view) * normal).xy;
    float length_out = length(out_ward);
    if (length_out > 1e-4) clip.xy += out_ward / length_out * outline_px / (0.5 * viewport) * clip.w;
    vec4 behind = projection * (view * vec4(at, 1.0) - vec4(0.0, 0.0, 0.03, 0.0));
    clip.z = behind.z / behind.w * clip.w;
    colour = outline_colour;
  }
  gl_Position = clip;
}
