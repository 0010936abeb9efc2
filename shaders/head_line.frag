// Soft edges: how much of the pixel the line covers, from the distance to its middle. Lines under a pixel grow fainter.
#version 330 core

noperspective in vec2 place;
flat in vec4 extent;
in vec4 colour;
out vec4 result;

void main() {
  float t = clamp(place.x / max(extent.x, 1e-3), 0.0, 1.0);
  float half_width = mix(extent.y, extent.z, t);
  float past = 0.0;
  if (place.x < 0.0 && mod(extent.w, 2.0) > 0.5) past = -place.x;
  if (place.x > extent.x && extent.w > 1.5) past = place.x - extent.x;
  float from_middle = length(vec2(past, place.y));
  float thin = min(2.0 * half_width, 1.0);
  float cover = clamp(max(half_width, 0.5) + 0.5 - from_middle, 0.0, 1.0) * thin;
  if (cover <= 0.0) discard;
  result = vec4(colour.rgb, colour.a * cover);
}
