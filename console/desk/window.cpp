#include "console/desk/window.hpp"

#include <cassert>
#include <cmath>
#include <utility>

#define GL_GLEXT_PROTOTYPES
#define GLFW_INCLUDE_GLEXT  // glext.h after gl.h, whatever order includes are sorted into
#include <GLFW/glfw3.h>
#include <backends/imgui_impl_glfw.h>
#include <backends/imgui_impl_opengl3.h>

namespace stonecall::desk {
namespace {

std::string
    last_glfw_words;  // GLFW reports through a C callback and has no place for a pointer of ours

InputQueue& queue_of(GLFWwindow* window) {
  return static_cast<Window*>(glfwGetWindowUserPointer(window))->inputs();
}

constexpr int least_width = 640, least_height = 400;  // design pixels
constexpr float longest_step = 0.1F;  // seconds; after a long sleep ImGui need not catch up

}  // namespace

Density Density::of(float content_scale, int window_width, int framebuffer_width) {
  if (window_width <= 0 || framebuffer_width <= 0) return {content_scale, 1};
  return {content_scale, static_cast<float>(framebuffer_width) / static_cast<float>(window_width)};
}

Density Window::density() const {
  if (hidden_) return {};
  float x = 1, y = 1;
  int window_width = 0, pixels = 0, height = 0;
  glfwGetWindowContentScale(window_, &x, &y);
  glfwGetWindowSize(window_, &window_width, &height);
  glfwGetFramebufferSize(window_, &pixels, &height);
  return Density::of(x, window_width, pixels);
}

protocol::Result<std::unique_ptr<Window>> Window::open(const Setup& setup) {
  auto fault = [](const char* what) {
    std::string words = what;
    if (!last_glfw_words.empty()) words += " (" + last_glfw_words + ")";
    return tl::unexpected(protocol::Fault{"window", words, std::nullopt});
  };
  glfwSetErrorCallback([](int, const char* words) { last_glfw_words = words; });
  if (!glfwInit())
    return fault("no display: set DISPLAY or WAYLAND_DISPLAY, or run under xvfb-run");

  std::unique_ptr<Window> w(new Window);
  w->hidden_ = setup.hidden;
  w->hidden_width_ = setup.width;
  w->hidden_height_ = setup.height;
  glfwWindowHint(GLFW_CONTEXT_VERSION_MAJOR, 3);
  glfwWindowHint(GLFW_CONTEXT_VERSION_MINOR, 0);
  glfwWindowHint(GLFW_VISIBLE, setup.hidden ? GLFW_FALSE : GLFW_TRUE);
  glfwWindowHint(GLFW_SCALE_TO_MONITOR, setup.hidden ? GLFW_FALSE : GLFW_TRUE);
  w->window_ = glfwCreateWindow(setup.hidden ? 64 : setup.width, setup.hidden ? 64 : setup.height,
                                setup.title.c_str(), nullptr, nullptr);
  if (!w->window_) return fault("the display offers no OpenGL 3");
  glfwSetWindowUserPointer(w->window_, w.get());
  glfwMakeContextCurrent(w->window_);
  glfwSwapInterval(setup.hidden ? 0 : 1);

  IMGUI_CHECKVERSION();
  ImGui::CreateContext();
  ImGuiIO& io = ImGui::GetIO();
  io.IniFilename = nullptr;
  io.LogFilename = nullptr;
  io.ConfigInputTextCursorBlink = false;
  io.ConfigFlags = 0;
  ImGui_ImplGlfw_InitForOpenGL(w->window_, false);
  ImGui_ImplOpenGL3_Init("#version 130");
  w->imgui_up_ = true;

  // Keys, letters, buttons and the wheel go through our queue, the rest straight to ImGui.
  glfwSetKeyCallback(w->window_, [](GLFWwindow* g, int key, int scancode, int action, int mods) {
    queue_of(g).add(InputQueue::Key{key, scancode, action, mods});
  });
  glfwSetCharCallback(
      w->window_, [](GLFWwindow* g, unsigned sign) { queue_of(g).add(InputQueue::Letter{sign}); });
  glfwSetMouseButtonCallback(w->window_, [](GLFWwindow* g, int button, int action, int mods) {
    queue_of(g).add(InputQueue::Button{button, action, mods});
  });
  glfwSetScrollCallback(w->window_, [](GLFWwindow* g, double x, double y) {
    queue_of(g).add(InputQueue::Wheel{x, y});
  });
  glfwSetFramebufferSizeCallback(w->window_, [](GLFWwindow* g, int, int) {
    static_cast<Window*>(glfwGetWindowUserPointer(g))->changed_ = true;
  });
  glfwSetWindowContentScaleCallback(w->window_, [](GLFWwindow* g, float, float) {
    static_cast<Window*>(glfwGetWindowUserPointer(g))->changed_ = true;
  });
  glfwSetWindowFocusCallback(w->window_, ImGui_ImplGlfw_WindowFocusCallback);
  glfwSetCursorEnterCallback(w->window_, ImGui_ImplGlfw_CursorEnterCallback);

  if (setup.hidden) {
    glGenTextures(1, &w->texture_);
    glBindTexture(GL_TEXTURE_2D, w->texture_);
    glTexImage2D(GL_TEXTURE_2D, 0, GL_RGBA8, setup.width, setup.height, 0, GL_RGBA,
                 GL_UNSIGNED_BYTE, nullptr);
    glTexParameteri(GL_TEXTURE_2D, GL_TEXTURE_MIN_FILTER, GL_NEAREST);
    glGenFramebuffers(1, &w->framebuffer_);
    glBindFramebuffer(GL_FRAMEBUFFER, w->framebuffer_);
    glFramebufferTexture2D(GL_FRAMEBUFFER, GL_COLOR_ATTACHMENT0, GL_TEXTURE_2D, w->texture_, 0);
    if (glCheckFramebufferStatus(GL_FRAMEBUFFER) != GL_FRAMEBUFFER_COMPLETE)
      return fault("OpenGL cannot draw into a picture of this size");
  }
  return w;
}

Window::~Window() {
  if (imgui_up_) {
    ImGui_ImplOpenGL3_Shutdown();
    ImGui_ImplGlfw_Shutdown();
    ImGui::DestroyContext();
  }
  if (framebuffer_) glDeleteFramebuffers(1, &framebuffer_);
  if (texture_) glDeleteTextures(1, &texture_);
  if (window_) glfwDestroyWindow(window_);
  glfwTerminate();
}

bool Window::closing() const {
  return glfwWindowShouldClose(window_);
}
bool Window::minimised() const {
  return !hidden_ && glfwGetWindowAttrib(window_, GLFW_ICONIFIED);
}
void Window::wait(double seconds) {
  glfwWaitEventsTimeout(seconds);
}
void Window::poll() {
  glfwPollEvents();
}
void Window::wake() {
  glfwPostEmptyEvent();
}

const Fonts& Window::fonts_at(int scale_percent) {
  const auto [display, pixels] = density();
  if (scale_percent == scale_percent_ && display == display_scale_) return fonts_;
  scale_percent_ = scale_percent;
  if (!hidden_ && std::exchange(display_scale_, display) != display) {
    const auto in_units = [&, each = display / pixels](int design) {
      return static_cast<int>(std::lround(static_cast<float>(design) * each));
    };
    glfwSetWindowSizeLimits(window_, in_units(least_width), in_units(least_height), GLFW_DONT_CARE,
                            GLFW_DONT_CARE);
  }
  display_scale_ = display;
  float scale = static_cast<float>(scale_percent) / 100 * display;
  ImGui::GetStyle() = ImGuiStyle();
  ImGui::GetStyle().ScaleAllSizes(scale);
  fonts_.build(*ImGui::GetIO().Fonts, scale);
  ImGui_ImplOpenGL3_DestroyFontsTexture();
  // The first frame would make shaders and, once more, the texture, from pixels that are gone.
  if (!std::exchange(painter_up_, true))
    ImGui_ImplOpenGL3_CreateDeviceObjects();
  else
    ImGui_ImplOpenGL3_CreateFontsTexture();
  ImGui::GetIO().Fonts->ClearTexData();
  return fonts_;
}

void Window::pass_on(const InputQueue::Input& input) {
  if (const auto* key = std::get_if<InputQueue::Key>(&input))
    ImGui_ImplGlfw_KeyCallback(window_, key->key, key->scancode, key->action, key->mods);
  else if (const auto* letter = std::get_if<InputQueue::Letter>(&input))
    ImGui_ImplGlfw_CharCallback(window_, letter->sign);
  else if (const auto* button = std::get_if<InputQueue::Button>(&input))
    ImGui_ImplGlfw_MouseButtonCallback(window_, button->button, button->action, button->mods);
  else if (const auto* wheel = std::get_if<InputQueue::Wheel>(&input))
    ImGui_ImplGlfw_ScrollCallback(window_, wheel->x, wheel->y);
}

std::vector<const KeyLine*> Window::begin_frame(const InputQueue::Answer& answer,
                                                bool hold_letters) {
  auto pressed = inputs_.give_frame(
      answer, [this](const InputQueue::Input& input) { pass_on(input); }, hold_letters);
  ImGui_ImplOpenGL3_NewFrame();
  ImGui_ImplGlfw_NewFrame();
  ImGuiIO& io = ImGui::GetIO();
  io.DeltaTime = std::min(io.DeltaTime, longest_step);
  // All is laid out in pixels of the screen, also where the system counts in larger units.
  int width = hidden_width_, height = hidden_height_;
  if (!hidden_) glfwGetFramebufferSize(window_, &width, &height);
  io.DisplaySize = {static_cast<float>(width), static_cast<float>(height)};
  io.DisplayFramebufferScale = {1, 1};
  if (ImGui::IsMousePosValid(&io.MousePos)) {
    const float pixels = density().pixels;
    io.MousePos = {io.MousePos.x * pixels, io.MousePos.y * pixels};
  }
  ImGui::NewFrame();
  return pressed;
}

void Window::end_frame(Rgb ground) {
  ImGui::Render();
  int w = hidden_width_, h = hidden_height_;
  if (!hidden_) glfwGetFramebufferSize(window_, &w, &h);
  glBindFramebuffer(GL_FRAMEBUFFER, framebuffer_);
  glViewport(0, 0, w, h);
  glClearColor(static_cast<float>(ground.r) / 255, static_cast<float>(ground.g) / 255,
               static_cast<float>(ground.b) / 255, 1);
  glClear(GL_COLOR_BUFFER_BIT);
  ImGui_ImplOpenGL3_RenderDrawData(ImGui::GetDrawData());
  if (!hidden_) glfwSwapBuffers(window_);
}

Image Window::grab() const {
  assert(hidden_ && "only a hidden window keeps what it drew");
  Image image{hidden_width_, hidden_height_, {}};
  std::size_t row = static_cast<std::size_t>(image.width) * 3;
  std::vector<std::uint8_t> upward(row * static_cast<std::size_t>(image.height));
  glBindFramebuffer(GL_FRAMEBUFFER, framebuffer_);
  glPixelStorei(GL_PACK_ALIGNMENT, 1);
  glReadPixels(0, 0, image.width, image.height, GL_RGB, GL_UNSIGNED_BYTE, upward.data());
  image.rgb.reserve(upward.size());
  for (int y = image.height; y-- > 0;) {  // OpenGL counts rows from below
    auto begin = upward.begin() + static_cast<std::ptrdiff_t>(row * static_cast<std::size_t>(y));
    image.rgb.insert(image.rgb.end(), begin, begin + static_cast<std::ptrdiff_t>(row));
  }
  return image;
}

int Window::width() const {
  if (hidden_) return hidden_width_;
  int width = 0, height = 0;
  glfwGetFramebufferSize(window_, &width, &height);
  return static_cast<int>(std::lround(static_cast<float>(width) / density().scale));
}

int Window::height() const {
  if (hidden_) return hidden_height_;
  int width = 0, height = 0;
  glfwGetFramebufferSize(window_, &width, &height);
  return static_cast<int>(std::lround(static_cast<float>(height) / density().scale));
}

void Window::set_clipboard(const std::string& text) {
  glfwSetClipboardString(window_, text.c_str());
}

}  // namespace stonecall::desk
