// The little of OpenGL that the head needs: a program from two shaders, and a smooth-edged picture to draw into.
#pragma once
#include <epoxy/gl.h>

#include <string>

namespace mien::editor {

/// Compiles and links. 0 when the driver refuses; `why` then names the shader and carries the driver's words.
GLuint make_program(const char* name, const char* vertex_source, const char* fragment_source, std::string* why);

/// True where the driver draws with the processor (Mesa's llvmpipe and softpipe say so by name).
bool draws_in_software();

/// An empty picture of four bytes a pixel, smoothed where it is scaled; the caller deletes it.
GLuint make_texture(int width, int height);

/// A framebuffer of some samples per pixel and the texture that it is resolved into.
class Picture {
 public:
  Picture() = default;
  Picture(const Picture&) = delete;
  Picture& operator=(const Picture&) = delete;
  ~Picture() { release(); }

  /// Makes it this large, with at most so many samples; false when the driver can't. Does nothing when it is.
  bool resize(int width, int height, int samples);
  GLuint framebuffer() const { return drawn_; }
  GLuint texture() const { return texture_; }
  void resolve() const;

 private:
  void release();
  GLuint drawn_ = 0, resolved_ = 0, texture_ = 0, buffers_[2] = {0, 0};
  int width_ = 0, height_ = 0, samples_ = 0;
};

}  // namespace mien::editor
