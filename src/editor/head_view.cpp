#include "editor/head_view.hpp"

#include <algorithm>
#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "editor/head_camera.hpp"
#include "editor/head_geometry.hpp"
#include "editor/head_gl.hpp"
#include "shaders.hpp"

namespace mien::editor {
namespace {

struct LineRecord {
  float x, y, z, width_px;
  float tone, joins;  // joins: 1 where a segment runs from this point to the next
};
struct FillRecord {
  float at[3], normal[3], tone;
};

constexpr float kLineLift = 0.012f, kGhostWidth_px = 1.6f, kOutline_px = 1.7f, kUnlimited_px = 1e6f;

float f(double v) { return static_cast<float>(v); }

// Each line with the point before its first and after its last, as segments want their neighbours. At open ends the
// neighbour is the end itself, which the shader takes as the sign for a round cap.
void pack_lines(const HeadLines& head, std::span<const Line> lines, std::vector<LineRecord>& out) {
  out.clear();
  for (const Line& line : lines) {
    const LinePoint* points = head.points.data() + line.first;
    const int last = line.count - 1;
    const auto put = [&](int i, bool joins) {
      const LinePoint& p = points[i];
      out.push_back({f(p.at.x), f(p.at.y), f(p.at.z), f(p.width_px), f(static_cast<int>(line.tone)), joins ? 1.0f : 0.0f});
    };
    put(line.closed ? last : 0, false);
    for (int i = 0; i <= last; ++i) put(i, line.closed || i < last);
    if (line.closed) put(0, false);
    put(line.closed ? 1 : last, false);
  }
}

void pack_fills(const HeadLines& head, std::vector<FillRecord>& out) {
  out.clear();
  for (const Vertex& v : head.vertices) {
    out.push_back({{f(v.at.x), f(v.at.y), f(v.at.z)}, {f(v.normal.x), f(v.normal.y), f(v.normal.z)}, f(static_cast<int>(v.tone))});
  }
}

void attribute(GLuint index, GLint size, std::size_t stride, std::size_t offset, GLuint divisor) {
  glEnableVertexAttribArray(index);
  glVertexAttribPointer(index, size, GL_FLOAT, GL_FALSE, static_cast<GLsizei>(stride), reinterpret_cast<const void*>(offset));
  glVertexAttribDivisor(index, divisor);
}

std::array<float, 4> components(Colour c) {
  return {f((c & 0xFF) / 255.0), f((c >> 8 & 0xFF) / 255.0), f((c >> 16 & 0xFF) / 255.0), f((c >> 24) / 255.0)};
}

void set_palette(GLuint program, const HeadPalette& palette) {
  static_assert(kToneCount <= 32, "the shaders hold 32 colours");
  std::array<float, 4 * kToneCount> flat{};
  auto next = flat.begin();
  for (const Colour c : palette) next = std::ranges::copy(components(c), next).out;
  glUniform4fv(glGetUniformLocation(program, "palette"), kToneCount, flat.data());
}

void clear_for_drawing(Colour background, int width, int height) {
  glViewport(0, 0, width, height);
  const auto colour = components(background);
  glClearColor(colour[0], colour[1], colour[2], 1);
  glDisable(GL_SCISSOR_TEST);
  glDisable(GL_CULL_FACE);
  glDisable(GL_BLEND);
  glEnable(GL_DEPTH_TEST);
  glDepthFunc(GL_LEQUAL);
  glDepthMask(GL_TRUE);
  glClear(GL_COLOR_BUFFER_BIT | GL_DEPTH_BUFFER_BIT);
}

// Lines that are drawn at one go; the vector is reused from frame to frame.
struct LineBatch {
  GLuint array = 0, buffer = 0;
  std::vector<LineRecord> records;

  void make() {
    glGenVertexArrays(1, &array);
    glGenBuffers(1, &buffer);
    glBindVertexArray(array);
    glBindBuffer(GL_ARRAY_BUFFER, buffer);
    constexpr std::size_t kLine = sizeof(LineRecord);
    attribute(0, 3, kLine, 0, 1);  // one record after the other: before, from, to, after
    attribute(1, 4, kLine, kLine, 1);
    attribute(2, 4, kLine, 2 * kLine, 1);
    attribute(3, 3, kLine, 3 * kLine, 1);
    attribute(4, 2, kLine, kLine + offsetof(LineRecord, tone), 1);
  }
  void upload(const HeadLines& head, std::span<const Line> lines) {
    pack_lines(head, lines, records);
    glBindBuffer(GL_ARRAY_BUFFER, buffer);
    glBufferData(GL_ARRAY_BUFFER, static_cast<GLsizeiptr>(records.size() * sizeof(LineRecord)), records.data(), GL_STREAM_DRAW);
  }
  void draw() const {
    glEnable(GL_BLEND);
    glBlendFuncSeparate(GL_SRC_ALPHA, GL_ONE_MINUS_SRC_ALPHA, GL_ONE, GL_ONE_MINUS_SRC_ALPHA);
    glDepthMask(GL_FALSE);
    glBindVertexArray(array);
    glDrawArraysInstanced(GL_TRIANGLE_STRIP, 0, 4, static_cast<GLsizei>(records.size()) - 3);
    glDepthMask(GL_TRUE);
    glDisable(GL_BLEND);
  }
  void release() {
    glDeleteVertexArrays(1, &array);
    glDeleteBuffers(1, &buffer);
  }
};

// All that a picture depends on.
struct Wanted {
  show::FacePose pose, ghost;
  bool with_ghost;
  Camera camera;
  HeadStyle style;
  int width, height;

  bool operator==(const Wanted& o) const {
    const auto same = [](const show::FacePose::Part& a, const show::FacePose::Part& b) {
      return a.present == b.present && a.share == b.share && a.deg == b.deg;
    };
    return width == o.width && height == o.height && camera == o.camera && style == o.style && with_ghost == o.with_ghost &&
           std::ranges::equal(pose.parts, o.pose.parts, same) && std::ranges::equal(ghost.parts, o.ghost.parts, same);
  }
};

}  // namespace

// What is compiled, for as many views of a context as there are.
struct HeadView::Programs {
  GLuint line = 0, fill = 0;

  bool make(std::string* why) {
    line = make_program("head_line", shaders::head_line_vert, shaders::head_line_frag, why);
    fill = line ? make_program("head_fill", shaders::head_fill_vert, shaders::head_fill_frag, why) : 0;
    return fill != 0;
  }
  ~Programs() {
    if (line) glDeleteProgram(line);
    if (fill) glDeleteProgram(fill);
  }
};

struct HeadView::Gl {
  std::shared_ptr<const Programs> programs;
  GLuint array = 0, vertices = 0, indices = 0;
  LineBatch on_solid, on_face;
  Picture picture;
  HeadLines head;  // reused from frame to frame, as is the next
  std::vector<FillRecord> fills;
  std::size_t index_count = 0;
  int samples = 1;
  std::optional<Wanted> drawn;  // what the picture shows

  Gl(std::shared_ptr<const Programs> shared, int samples_per_pixel);
  void draw(const Wanted& wanted, int width, int height);
  void upload(const show::FacePose& pose);
  void draw_fills(std::size_t from, std::size_t to) const;
  void draw_outline(const HeadStyle& style, float width_px) const;
  void draw_ghost(const show::FacePose& pose, const HeadStyle& style, float scale);
  void set_line_widths(float scale, float limit_px) const;
  ~Gl();
};

HeadView::Gl::Gl(std::shared_ptr<const Programs> shared, int samples_per_pixel) : programs(std::move(shared)), samples(samples_per_pixel) {
  on_solid.make();
  on_face.make();
  glGenVertexArrays(1, &array);
  glGenBuffers(1, &vertices);
  glGenBuffers(1, &indices);
  glBindVertexArray(array);
  glBindBuffer(GL_ARRAY_BUFFER, vertices);
  glBindBuffer(GL_ELEMENT_ARRAY_BUFFER, indices);
  attribute(0, 3, sizeof(FillRecord), offsetof(FillRecord, at), 0);
  attribute(1, 3, sizeof(FillRecord), offsetof(FillRecord, normal), 0);
  attribute(2, 1, sizeof(FillRecord), offsetof(FillRecord, tone), 0);
  glBindVertexArray(0);
}

void HeadView::Gl::upload(const show::FacePose& pose) {
  build_head(pose, head);
  pack_fills(head, fills);
  const std::span<const Line> lines(head.lines);
  on_solid.upload(head, lines.first(head.solid_lines));
  on_face.upload(head, lines.subspan(head.solid_lines));
  glBindBuffer(GL_ARRAY_BUFFER, vertices);
  glBufferData(GL_ARRAY_BUFFER, static_cast<GLsizeiptr>(fills.size() * sizeof(FillRecord)), fills.data(), GL_STREAM_DRAW);
  glBindBuffer(GL_ARRAY_BUFFER, 0);
  if (index_count == head.triangles.size()) return;  // every pose has the same triangles
  index_count = head.triangles.size();
  glBindVertexArray(array);
  const auto bytes = static_cast<GLsizeiptr>(index_count * sizeof(head.triangles[0]));
  glBufferData(GL_ELEMENT_ARRAY_BUFFER, bytes, head.triangles.data(), GL_STATIC_DRAW);
  glBindVertexArray(0);
}

void HeadView::Gl::draw_fills(std::size_t from, std::size_t to) const {
  glUseProgram(programs->fill);
  glBindVertexArray(array);
  const auto* first = reinterpret_cast<const void*>(from * sizeof(std::uint32_t));
  glDrawElements(GL_TRIANGLES, static_cast<GLsizei>(to - from), GL_UNSIGNED_INT, first);
}

// The solid blown up by the line's width and drawn from the inside shows past its own edge only.
void HeadView::Gl::draw_outline(const HeadStyle& style, float width_px) const {
  glUseProgram(programs->fill);
  const auto colour = components(mix(style.background, style.line, 0.85));
  glUniform4fv(glGetUniformLocation(programs->fill, "outline_colour"), 1, colour.data());
  const GLint outline_px = glGetUniformLocation(programs->fill, "outline_px");
  glUniform1f(outline_px, width_px);
  glEnable(GL_CULL_FACE);
  glCullFace(GL_FRONT);
  draw_fills(0, head.solid_indices);
  glDisable(GL_CULL_FACE);
  glUniform1f(outline_px, 0);
}

void HeadView::Gl::set_line_widths(float scale, float limit_px) const {
  glUseProgram(programs->line);
  glUniform1f(glGetUniformLocation(programs->line, "width_scale"), scale);
  glUniform1f(glGetUniformLocation(programs->line, "width_limit"), limit_px);
}

// Over the picture, hiding its own far lines but hidden by nothing else.
void HeadView::Gl::draw_ghost(const show::FacePose& pose, const HeadStyle& style, float scale) {
  upload(pose);
  glClear(GL_DEPTH_BUFFER_BIT);
  glColorMask(GL_FALSE, GL_FALSE, GL_FALSE, GL_FALSE);
  draw_fills(0, index_count);
  glColorMask(GL_TRUE, GL_TRUE, GL_TRUE, GL_TRUE);
  set_line_widths(scale, std::max(kGhostWidth_px * scale, 1.0f));
  set_palette(programs->line, ghost_palette_of(style));
  on_solid.draw();
  on_face.draw();
}

HeadView::Gl::~Gl() {
  on_solid.release();
  on_face.release();
  glDeleteVertexArrays(1, &array);
  glDeleteBuffers(1, &vertices);
  glDeleteBuffers(1, &indices);
}

HeadView::HeadView() = default;
HeadView::~HeadView() = default;

bool HeadView::init(std::string* why, int samples) {
  if (epoxy_gl_version() < 33) {
    if (why) *why = "The head preview needs OpenGL 3.3 and this computer offers less: update the graphics driver, or work without it";
    return false;
  }
  auto programs = std::make_shared<Programs>();
  if (!programs->make(why)) return false;
  gl_ = std::make_unique<Gl>(std::move(programs), samples >= 0 ? samples : draws_in_software() ? 1 : 4);
  return true;
}

bool HeadView::init_beside(const HeadView& other) {
  if (other.gl_) gl_ = std::make_unique<Gl>(other.gl_->programs, other.gl_->samples);
  return gl_ != nullptr;
}

unsigned HeadView::texture() const { return gl_ ? gl_->picture.texture() : 0; }

void HeadView::render(const show::FacePose& pose, const show::FacePose* ghost, const Camera& camera, const HeadStyle& style,
                      int width, int height) {
  if (!gl_ || width < 1 || height < 1) return;
  Gl& gl = *gl_;
  const Wanted wanted{pose, ghost ? *ghost : show::FacePose{}, ghost != nullptr, camera, style, width, height};
  if (gl.drawn == wanted) return;
  gl.drawn.reset();
  GLint bound = 0, viewport[4] = {}, largest = 0;
  glGetIntegerv(GL_FRAMEBUFFER_BINDING, &bound);
  glGetIntegerv(GL_VIEWPORT, viewport);
  glGetIntegerv(GL_MAX_RENDERBUFFER_SIZE, &largest);
  width = std::min(width, largest), height = std::min(height, largest);
  if (gl.picture.resize(width, height, gl.samples)) {
    gl.draw(wanted, width, height);
    gl.drawn = wanted;
  }
  glBindFramebuffer(GL_FRAMEBUFFER, static_cast<GLuint>(bound));
  glViewport(viewport[0], viewport[1], viewport[2], viewport[3]);
}

void HeadView::Gl::draw(const Wanted& wanted, int width, int height) {
  const Camera& camera = wanted.camera;
  const HeadStyle& style = wanted.style;
  const Matrix view = view_matrix(camera), projection = projection_matrix(static_cast<double>(width) / height);
  const float scale = f(style.line_scale * magnification(camera, width, height));
  for (const GLuint program : {programs->line, programs->fill}) {
    glUseProgram(program);
    glUniformMatrix4fv(glGetUniformLocation(program, "view"), 1, GL_FALSE, view.data());
    glUniformMatrix4fv(glGetUniformLocation(program, "projection"), 1, GL_FALSE, projection.data());
    glUniform2f(glGetUniformLocation(program, "viewport"), static_cast<float>(width), static_cast<float>(height));
    set_palette(program, palette_of(style));
  }
  set_line_widths(scale, kUnlimited_px);
  glUniform1f(glGetUniformLocation(programs->line, "lift"), kLineLift);
  glUniform2f(glGetUniformLocation(programs->line, "fade"), f(camera.distance - 0.5), f(camera.distance + 1.3));

  glBindFramebuffer(GL_FRAMEBUFFER, picture.framebuffer());
  clear_for_drawing(style.background, width, height);
  upload(wanted.pose);
  draw_fills(0, head.solid_indices);
  draw_outline(style, std::max(kOutline_px * scale, 1.0f));
  glUseProgram(programs->line);
  on_solid.draw();
  draw_fills(head.solid_indices, index_count);
  glUseProgram(programs->line);
  on_face.draw();
  if (wanted.with_ghost) draw_ghost(wanted.ghost, style, scale);
  picture.resolve();
  glDisable(GL_DEPTH_TEST);
  glUseProgram(0);
  glBindVertexArray(0);
}

}  // namespace mien::editor
