#include "console/desk/run.hpp"

#include <algorithm>
#include <chrono>

namespace stonecall::desk {
namespace {

constexpr double longest_sleep = 1.0;  // seconds: the clocks show seconds
constexpr auto keep_each = std::chrono::seconds(1);
constexpr int settling_frames = 3;  // layout, focus and heights settle within so many frames

/// A random id that stands after `before`. Where the player stands still, posts share one moment
/// and have no number from a server: the fold then goes by their ids, and what takes something back
/// must come after it.
protocol::Uuid id_after(const protocol::Uuid& before) {
  protocol::Uuid id = protocol::random_uuid();
  constexpr std::size_t leading = 6;  // the bytes before the version
  std::copy_n(before.begin(), leading, id.begin());
  for (std::size_t i = leading; i-- > 0;)
    if (++id.data[i] != 0) break;
  return id;
}

}  // namespace

bool carry_out(const Commands& commands, Desk& desk, Source& source, const Sitting& sitting,
               Window* window) {
  std::vector<protocol::Uuid> act;
  bool stay = true;
  for (const Command& command : commands) {
    if (const auto* post = std::get_if<ask::Post>(&command)) {
      auto view = source.view();
      protocol::Event event;
      event.at.instant = post->at.value_or(view->now);
      event.id = desk.latest_post && desk.latest_post->first == event.at.instant
                     ? id_after(desk.latest_post->second)
                     : protocol::random_uuid();
      desk.latest_post = {event.at.instant, event.id};
      if (const protocol::Plan* plan = view->plan()) event.at.offset = plan->start.offset;
      event.from = sitting.name;
      event.body = post->body;
      if (!post->undoes) act.push_back(event.id);
      if (std::holds_alternative<protocol::VoiceNote>(event.body))
        desk.own_notes.push_back(event.id);
      source.post(std::make_shared<const protocol::Event>(std::move(event)));
    } else if (const auto* seek = std::get_if<ask::Seek>(&command)) {
      source.seek(seek->to);
    } else if (const auto* step = std::get_if<ask::Step>(&command)) {
      source.step(step->events);
    } else if (const auto* play = std::get_if<ask::Play>(&command)) {
      source.play(play->playing);
    } else if (const auto* speed = std::get_if<ask::Speed>(&command)) {
      source.speed(speed->times);
    } else if (const auto* end = std::get_if<ask::LayEndBeside>(&command)) {
      source.lay_end_beside(end->beside);
    } else if (std::holds_alternative<ask::SendUnclaimed>(command)) {
      source.send_unclaimed();
    } else if (const auto* copy = std::get_if<ask::CopyText>(&command)) {
      if (window) window->set_clipboard(copy->text);
    } else if (std::holds_alternative<ask::Quit>(command)) {
      stay = false;
    }
  }
  if (!act.empty()) desk.acts.push_back(std::move(act));
  return stay;
}

protocol::Result<Settings> run(const Settings& settings,
                               const std::function<std::unique_ptr<Source>(Source::Wake)>& open,
                               const ReadSpeech& read, const Sitting& sitting,
                               const std::function<void(const Settings&)>& keep) {
  auto window = Window::open({"Stonecall", settings.width, settings.height, false});
  if (!window) return tl::unexpected(window.error());
  Window& w = **window;
  std::unique_ptr<Source> source = open([] { Window::wake(); });

  Desk desk;
  desk.settings = settings;
  desk.heard.filter = settings.filter;
  desk.kinds.whole = settings.kinds_whole;
  desk.kinds.table.all = settings.kinds_all;
  desk.call.adviser = sitting.name;
  desk.entry.adviser = sitting.name;
  const std::string where = source->view()->source;
  if (settings.draft_of == where) desk.entry.typed = settings.draft;
  const auto to_remember = [&] {
    Settings now = desk.settings;
    now.width = w.width();
    now.height = w.height();
    now.filter = desk.heard.filter;
    now.kinds_whole = desk.kinds.whole;
    now.kinds_all = desk.kinds.table.all;
    // A draft that was left for another exercise stays until it is overwritten.
    if (!draft(desk.entry).empty() || settings.draft_of == where) {
      now.draft = draft(desk.entry);
      now.draft_of = now.draft.empty() ? "" : where;
    }
    return now;
  };
  Settings kept = settings;
  auto keep_again_at = std::chrono::steady_clock::now() + keep_each;
  focus_on(desk, source->view()->mode == Mode::replay ? RegionId::hours : RegionId::entry);

  std::shared_ptr<const View> shown;
  int frames_due = settling_frames;
  bool stay = true;
  const auto asked = [&] { return sitting.asked_to_leave && sitting.asked_to_leave(); };
  while (stay && !w.closing() && !asked()) {
    if (frames_due > 0 && !w.minimised())
      w.poll();
    else
      w.wait(longest_sleep);
    auto view = source->view();
    if (w.take_changed() || view != shown || !w.inputs().empty() || ImGui::GetIO().MouseDown[0])
      frames_due = settling_frames;
    shown = view;
    if (w.minimised()) continue;
    const Fonts& fonts = w.fonts_at(desk.settings.scale_percent);
    const bool in_text = typing(desk);
    auto pressed = w.begin_frame([&](Chord chord) { return answer(desk, *view, chord, in_text); },
                                 awaits_field(desk));
    Commands commands = draw_desk(desk, *view, fonts, read, pressed);
    w.end_frame(theme(desk.settings.theme)[Ink::ground]);
    if (!commands.empty() || !pressed.empty()) frames_due = settling_frames + 1;
    stay = carry_out(commands, desk, *source, sitting, &w);
    if (frames_due > 0) --frames_due;
    if (const auto now = std::chrono::steady_clock::now(); now >= keep_again_at) {
      keep_again_at = now + keep_each;
      if (Settings changed = to_remember(); changed != kept) {
        keep(changed);
        kept = std::move(changed);
      }
    }
  }
  return to_remember();
}

protocol::Result<Image> screenshot(Desk& desk, const View& view, const ReadSpeech& read) {
  auto window = Window::open({"Stonecall", desk.settings.width, desk.settings.height, true});
  if (!window) return tl::unexpected(window.error());
  Window& w = **window;
  for (int frame = 0; frame < settling_frames + 1; ++frame) {
    const Fonts& fonts = w.fonts_at(desk.settings.scale_percent);
    w.begin_frame([](Chord) { return nullptr; }, false);
    draw_desk(desk, view, fonts, read, {});
    w.end_frame(theme(desk.settings.theme)[Ink::ground]);
  }
  return w.grab();
}

}  // namespace stonecall::desk
