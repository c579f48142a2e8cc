#pragma once

#include <memory>
#include <optional>
#include <string>

#include <imgui.h>

#include "console/desk/fonts.hpp"
#include "console/desk/image.hpp"
#include "console/desk/input_queue.hpp"
#include "console/desk/theme.hpp"
#include "protocol/fault.hpp"

struct GLFWwindow;

namespace stonecall::desk {

/// The one window: GLFW, OpenGL 3 and the ImGui context. One at a time, on the thread that made it.
class Window {
 public:
  struct Setup {
    std::string title = "Stonecall";
    int width = 1600, height = 900;
    /// Nothing is shown; frames are drawn into a picture of exactly this size, for grab().
    bool hidden = false;
  };

  /// The fault says what is missing: no display, or no OpenGL 3.
  static protocol::Result<std::unique_ptr<Window>> open(const Setup& setup);
  ~Window();
  Window(const Window&) = delete;
  Window& operator=(const Window&) = delete;

  bool closing() const;
  bool minimised() const;
  /// Sleeps until there is input, wake() is called, or the time is over.
  void wait(double seconds);
  void poll();
  /// Ends a wait; from any thread.
  static void wake();

  /// Type at the user's scale times the display's; builds the atlas anew where it changed.
  const Fonts& fonts_at(int scale_percent);

  InputQueue& inputs() { return inputs_; }
  /// Gives the frame its inputs and begins it.
  std::vector<const KeyLine*> begin_frame(const InputQueue::Answer& answer, bool hold_letters);
  void end_frame(Rgb ground);

  /// What the last frame drew; hidden windows only.
  Image grab() const;

  int width() const;
  int height() const;
  void set_clipboard(const std::string& text);

 private:
  Window() = default;
  void pass_on(const InputQueue::Input& input);

  GLFWwindow* window_ = nullptr;
  bool hidden_ = false;
  int hidden_width_ = 0, hidden_height_ = 0;
  unsigned framebuffer_ = 0, texture_ = 0;
  bool imgui_up_ = false;
  bool painter_up_ = false;  ///< shaders and the first atlas are made
  InputQueue inputs_;
  Fonts fonts_;
  int scale_percent_ = 0;
  float display_scale_ = 0;
};

}  // namespace stonecall::desk
