#pragma once

#include <memory>
#include <optional>
#include <string>
#include <utility>

#include <imgui.h>

#include "console/desk/fonts.hpp"
#include "console/desk/image.hpp"
#include "console/desk/input_queue.hpp"
#include "console/desk/theme.hpp"
#include "protocol/fault.hpp"

struct GLFWwindow;

namespace stonecall::desk {

/// What a display asks of what is drawn on it.
struct Density {
  float scale = 1;   ///< pixels of the screen that a design pixel takes at 100 %
  float pixels = 1;  ///< pixels of the screen in one unit of the window's size

  /// `content_scale` as GLFW tells it. Systems either count windows in pixels (X11) or in units of
  /// several (Wayland); type is set in pixels on both, so that nothing is enlarged after it was
  /// drawn.
  static Density of(float content_scale, int window_width, int framebuffer_width);
};

/// The one window: GLFW, OpenGL 3 and the ImGui context. One at a time, on the thread that made it.
class Window {
 public:
  struct Setup {
    std::string title = "Stonecall";
    int width = 1600, height = 900;  ///< design pixels; of a hidden window pixels
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
  /// Since it was asked last: the window has another size, or came to a display of another scale.
  bool take_changed() { return std::exchange(changed_, false); }

  /// Type at the user's scale times the display's; builds the atlas anew where it changed.
  const Fonts& fonts_at(int scale_percent);

  InputQueue& inputs() { return inputs_; }
  /// Gives the frame its inputs and begins it.
  std::vector<const KeyLine*> begin_frame(const InputQueue::Answer& answer, bool hold_letters);
  void end_frame(Rgb ground);

  /// What the last frame drew; hidden windows only.
  Image grab() const;

  int width() const;  ///< design pixels, as in Setup
  int height() const;
  void set_clipboard(const std::string& text);

 private:
  Window() = default;
  void pass_on(const InputQueue::Input& input);
  Density density() const;

  GLFWwindow* window_ = nullptr;
  bool hidden_ = false;
  int hidden_width_ = 0, hidden_height_ = 0;
  unsigned framebuffer_ = 0, texture_ = 0;
  bool imgui_up_ = false;
  bool changed_ = false;
  bool painter_up_ = false;  ///< shaders and the first atlas are made
  InputQueue inputs_;
  Fonts fonts_;
  int scale_percent_ = 0;
  float display_scale_ = 0;
};

}  // namespace stonecall::desk
