#include "editor/head_gl.hpp"

#include <algorithm>
#include <array>
#include <string_view>

namespace mien::editor {
namespace {

GLuint compile(GLenum kind, const char* name, const char* source, std::string* why) {
  const GLuint shader = glCreateShader(kind);
  glShaderSource(shader, 1, &source, nullptr);
  glCompileShader(shader);
  GLint done = GL_FALSE;
  glGetShaderiv(shader, GL_COMPILE_STATUS, &done);
  if (done) return shader;
  std::array<char, 1024> words{};
  glGetShaderInfoLog(shader, static_cast<GLsizei>(words.size()), nullptr, words.data());
  if (why) *why = std::string("The graphics driver refused the shader ") + name + "; update the driver, or work without the head preview. It says: " + words.data();
  glDeleteShader(shader);
  return 0;
}

}  // namespace

GLuint make_program(const char* name, const char* vertex_source, const char* fragment_source, std::string* why) {
  const GLuint vertex = compile(GL_VERTEX_SHADER, name, vertex_source, why);
  const GLuint fragment = vertex ? compile(GL_FRAGMENT_SHADER, name, fragment_source, why) : 0;
  GLuint program = 0;
  if (fragment) {
    program = glCreateProgram();
    glAttachShader(program, vertex);
    glAttachShader(program, fragment);
    glLinkProgram(program);
    GLint done = GL_FALSE;
    glGetProgramiv(program, GL_LINK_STATUS, &done);
    if (!done) {
      if (why) *why = std::string("The graphics driver could not link the shader ") + name + ": update the driver, or work without the head preview";
      glDeleteProgram(program);
      program = 0;
    }
  }
  glDeleteShader(vertex);
  glDeleteShader(fragment);
  return program;
}

bool draws_in_software() {
  const auto* name = reinterpret_cast<const char*>(glGetString(GL_RENDERER));
  const std::string_view renderer = name ? name : "";
  return renderer.find("llvmpipe") != renderer.npos || renderer.find("softpipe") != renderer.npos;
}

GLuint make_texture(int width, int height) {
  GLuint texture = 0;
  glGenTextures(1, &texture);
  glBindTexture(GL_TEXTURE_2D, texture);
  glTexImage2D(GL_TEXTURE_2D, 0, GL_RGBA8, width, height, 0, GL_RGBA, GL_UNSIGNED_BYTE, nullptr);
  glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_MIN_FILTER, GL_LINEAR);
  glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_MAG_FILTER, GL_LINEAR);
  glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_WRAP_S, GL_CLAMP_TO_EDGE);
  glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_WRAP_T, GL_CLAMP_TO_EDGE);
  glBindTexture(GL_TEXTURE_2D, 0);
  return texture;
}

bool Picture::resize(int width, int height, int samples) {
  if (drawn_ && width == width_ && height == height_ && samples == samples_) return true;
  release();
  width_ = width, height_ = height, samples_ = samples;
  GLint most = 0;
  glGetIntegerv(GL_MAX_SAMPLES, &most);
  samples = samples > 1 ? std::min(samples, most) : 0;
  glGenFramebuffers(1, &drawn_);
  glGenFramebuffers(1, &resolved_);
  glGenRenderbuffers(2, buffers_);

  glBindFramebuffer(GL_FRAMEBUFFER, drawn_);
  glBindRenderbuffer(GL_RENDERBUFFER, buffers_[0]);
  glRenderbufferStorageMultisample(GL_RENDERBUFFER, samples, GL_RGBA8, width, height);
  glFramebufferRenderbuffer(GL_FRAMEBUFFER, GL_COLOR_ATTACHMENT0, GL_RENDERBUFFER, buffers_[0]);
  glBindRenderbuffer(GL_RENDERBUFFER, buffers_[1]);
  glRenderbufferStorageMultisample(GL_RENDERBUFFER, samples, GL_DEPTH_COMPONENT24, width, height);
  glFramebufferRenderbuffer(GL_FRAMEBUFFER, GL_DEPTH_ATTACHMENT, GL_RENDERBUFFER, buffers_[1]);
  const bool drawable = glCheckFramebufferStatus(GL_FRAMEBUFFER) == GL_FRAMEBUFFER_COMPLETE;

  texture_ = make_texture(width, height);
  glBindFramebuffer(GL_FRAMEBUFFER, resolved_);
  glFramebufferTexture2D(GL_FRAMEBUFFER, GL_COLOR_ATTACHMENT0, GL_TEXTURE_2D, texture_, 0);
  if (drawable && glCheckFramebufferStatus(GL_FRAMEBUFFER) == GL_FRAMEBUFFER_COMPLETE) return true;
  release();
  return false;
}

void Picture::resolve() const {
  glBindFramebuffer(GL_READ_FRAMEBUFFER, drawn_);
  glBindFramebuffer(GL_DRAW_FRAMEBUFFER, resolved_);
  glBlitFramebuffer(0, 0, width_, height_, 0, 0, width_, height_, GL_COLOR_BUFFER_BIT, GL_NEAREST);
}

void Picture::release() {
  if (!drawn_) return;
  glDeleteFramebuffers(1, &drawn_);
  glDeleteFramebuffers(1, &resolved_);
  glDeleteRenderbuffers(2, buffers_);
  glDeleteTextures(1, &texture_);
  drawn_ = resolved_ = texture_ = buffers_[0] = buffers_[1] = 0;
}

}  // namespace mien::editor
