#include "editor/window.hpp"

#include <epoxy/gl.h>
#include <GLFW/glfw3.h>
#include <backends/imgui_impl_glfw.h>
#include <backends/imgui_impl_opengl3.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <charconv>
#include <cmath>

#include "editor/theme.hpp"

// As GLFW/glfw3native.h declares it, which wants the headers of more than is used here. A GLFW that was built for another window system doesn't have it: weak, so that Mien starts there, too.
extern "C" __attribute__((weak)) unsigned long glfwGetX11Window(GLFWwindow* window);

namespace mien::editor {
namespace {

std::string last_glfw_error() {
  const char* text = nullptr;
  glfwGetError(&text);
  return text ? text : "the window system gave no reason";
}

Window& self(GLFWwindow* w) { return *static_cast<Window*>(glfwGetWindowUserPointer(w)); }

int mods_of(int glfw, int key, bool down) {
  int mods = (glfw & GLFW_MOD_SHIFT ? kShift : 0) | (glfw & GLFW_MOD_CONTROL ? kCtrl : 0) | (glfw & GLFW_MOD_ALT ? kAlt : 0);
  // The system reports a modifier's own press and release with the state before it.
  const int own = key == GLFW_KEY_LEFT_SHIFT || key == GLFW_KEY_RIGHT_SHIFT ? kShift
                  : key == GLFW_KEY_LEFT_CONTROL || key == GLFW_KEY_RIGHT_CONTROL ? kCtrl
                  : key == GLFW_KEY_LEFT_ALT || key == GLFW_KEY_RIGHT_ALT ? kAlt : 0;
  return down ? mods | own : mods & ~own;
}

// Key numbers name places on an American keyboard; letters are meant as they are printed on this one.
int printed_key(int key, int scancode) {
  if (key < GLFW_KEY_A || key > GLFW_KEY_Z) return key;
  const char* name = glfwGetKeyName(key, scancode);
  if (!name || !name[0] || name[1] || !std::isalpha(static_cast<unsigned char>(name[0]))) return key;
  return std::toupper(static_cast<unsigned char>(name[0]));
}

}  // namespace

std::unique_ptr<Window> Window::open(const Options& options, show::Finding& problem) {
  problem = {show::Severity::error, "", "window", "", "Start it from a desktop session, or perform the show without a window: mien play SHOW"};
  if (!glfwInit()) {
    problem.what = "No window can be opened: " + last_glfw_error();
    return nullptr;
  }
  glfwWindowHint(GLFW_CONTEXT_VERSION_MAJOR, 3);
  glfwWindowHint(GLFW_CONTEXT_VERSION_MINOR, 3);
  glfwWindowHint(GLFW_OPENGL_PROFILE, GLFW_OPENGL_CORE_PROFILE);
  glfwWindowHint(GLFW_VISIBLE, GLFW_FALSE);
  glfwWindowHintString(GLFW_X11_CLASS_NAME, "mien");
  int x = 0, y = 0, width = 1366, height = 768;
  if (GLFWmonitor* monitor = glfwGetPrimaryMonitor()) glfwGetMonitorWorkarea(monitor, &x, &y, &width, &height);
  const bool fixed = options.width > 0 && options.height > 0;
  std::unique_ptr<Window> w(new Window);
  w->window_ = fixed ? glfwCreateWindow(options.width, options.height, "Mien", nullptr, nullptr)
                     : glfwCreateWindow(std::max(640, width), std::max(480, height), "Mien", nullptr, nullptr);
  if (!w->window_) {
    problem.what = "No window with OpenGL 3.3 can be opened: " + last_glfw_error();
    problem.cure = "Install a graphics driver with OpenGL 3.3 (Debian: libgl1-mesa-dri), or perform without a window: mien play SHOW";
    glfwTerminate();
    return nullptr;
  }
  glfwSetWindowSizeLimits(w->window_, 960, 600, GLFW_DONT_CARE, GLFW_DONT_CARE);
  glfwMakeContextCurrent(w->window_);
  glfwSwapInterval(1);
  w->fixed_scale_ = options.scale;
  float sx = 1, sy = 1;
  glfwGetWindowContentScale(w->window_, &sx, &sy);
  w->scale_ = options.scale > 0 ? options.scale : std::clamp(sx, 0.75f, 4.0f);

  IMGUI_CHECKVERSION();
  ImGui::CreateContext();
  ImGuiIO& io = ImGui::GetIO();
  io.IniFilename = nullptr;
  ImGui_ImplGlfw_InitForOpenGL(w->window_, false);
  ImGui_ImplOpenGL3_Init("#version 330");
  name_keys(io);
  w->listen();
  glfwShowWindow(w->window_);
  return w;
}

Window::~Window() {
  if (window_) {
    ImGui_ImplOpenGL3_Shutdown();
    ImGui_ImplGlfw_Shutdown();
    ImGui::DestroyContext();
    glfwDestroyWindow(window_);
    glfwTerminate();
  }
}

void Window::take(const InputEvent& event) {
  if (!first_look || !first_look(event)) queue_.push(event);
}

void Window::listen() {
  glfwSetWindowUserPointer(window_, this);
  glfwSetCursorPosCallback(window_, [](GLFWwindow* w, double x, double y) { self(w).take(InputEvent::move(static_cast<float>(x), static_cast<float>(y))); });
  glfwSetCursorEnterCallback(window_, [](GLFWwindow* w, int entered) {
    ImGui_ImplGlfw_CursorEnterCallback(w, entered);
    // While a button is held the pointer may wander outside: the drag goes on.
    if (!entered && glfwGetMouseButton(w, 0) == GLFW_RELEASE && glfwGetMouseButton(w, 2) == GLFW_RELEASE) self(w).take({InputEvent::Kind::leave});
  });
  glfwSetMouseButtonCallback(window_, [](GLFWwindow* w, int button, int action, int) {
    double x = 0, y = 0;
    glfwGetCursorPos(w, &x, &y);
    self(w).take(InputEvent::move(static_cast<float>(x), static_cast<float>(y)));
    self(w).take(InputEvent::button(button, action == GLFW_PRESS));
  });
  glfwSetScrollCallback(window_, [](GLFWwindow* w, double x, double y) { self(w).take(InputEvent::wheel(static_cast<float>(x), static_cast<float>(y))); });
  glfwSetKeyCallback(window_, [](GLFWwindow* w, int key, int scancode, int action, int mods) {
    const bool down = action != GLFW_RELEASE;
    self(w).take(InputEvent::key(printed_key(key, scancode), down, mods_of(mods, key, down), action == GLFW_REPEAT));
  });
  glfwSetCharCallback(window_, [](GLFWwindow* w, unsigned c) { self(w).take(InputEvent::text(c)); });
  glfwSetWindowFocusCallback(window_, [](GLFWwindow* w, int focused) {
    ImGui_ImplGlfw_WindowFocusCallback(w, focused);
    if (!focused) self(w).queue_.release_all();
  });
  glfwSetWindowCloseCallback(window_, [](GLFWwindow* w) {
    glfwSetWindowShouldClose(w, GLFW_FALSE);
    if (self(w).asked_to_close) self(w).asked_to_close();
  });
  glfwSetDropCallback(window_, [](GLFWwindow* w, int count, const char** paths) {
    if (self(w).dropped) self(w).dropped({paths, paths + count});
  });
  glfwSetWindowContentScaleCallback(window_, [](GLFWwindow* w, float sx, float) {
    Window& window = self(w);
    if (window.fixed_scale_ > 0 || std::abs(sx - window.scale_) < 0.01f) return;
    window.scale_ = std::clamp(sx, 0.75f, 4.0f);
  });
}

void Window::wait(double seconds) {
  if (seconds > 0) glfwWaitEventsTimeout(seconds);
  else glfwPollEvents();
}

std::vector<KeyPress> Window::begin_frame() {
  ImGui_ImplOpenGL3_NewFrame();
  ImGui_ImplGlfw_NewFrame();
  std::vector<KeyPress> presses = queue_.feed(ImGui::GetIO());
  ImGui::NewFrame();
  return presses;
}

void Window::end_frame(std::uint32_t ground) {
  ImGui::Render();
  int width = 0, height = 0;
  glfwGetFramebufferSize(window_, &width, &height);
  glViewport(0, 0, width, height);
  glClearColor((ground & 0xFF) / 255.0f, (ground >> 8 & 0xFF) / 255.0f, (ground >> 16 & 0xFF) / 255.0f, 1);
  glClear(GL_COLOR_BUFFER_BIT);
  ImGui_ImplOpenGL3_RenderDrawData(ImGui::GetDrawData());
  glfwSwapBuffers(window_);
}

void Window::set_title(const std::string& title) {
  if (title == title_) return;
  title_ = title;
  glfwSetWindowTitle(window_, title.c_str());
}

std::string Window::handle() const {
  if (&glfwGetX11Window == nullptr) return "";
  const unsigned long number = glfwGetX11Window(window_);
  std::array<char, 2 * sizeof number> text{};
  const auto end = std::to_chars(text.data(), text.data() + text.size(), number, 16).ptr;
  return number == 0 ? "" : "x11:" + std::string(text.data(), end);
}

void Window::upload_letters() {
  ImGui_ImplOpenGL3_DestroyFontsTexture();
  ImGui_ImplOpenGL3_CreateFontsTexture();
}

}  // namespace mien::editor
