#include "server/metrics.hpp"

#include <string_view>

#include <spdlog/fmt/fmt.h>

namespace stonecall::server {
namespace {

class Exposition {
 public:
  template <class Number>
  void counter(std::string_view name, std::string_view help, Number value) {
    text_ += fmt::format("# TYPE {0} counter\n# HELP {0} {1}\n{0}_total {2}\n", name, help, value);
  }
  template <class Number>
  void gauge(std::string_view name, std::string_view help, Number value) {
    text_ += fmt::format("# TYPE {0} gauge\n# HELP {0} {1}\n{0} {2}\n", name, help, value);
  }
  void answers(const Context& context) {
    constexpr std::string_view name = "stonecall_http_answers";
    text_ += fmt::format("# TYPE {0} counter\n# HELP {0} HTTP answers by class of status.\n", name);
    for (std::size_t i = 1; i < context.answers.size(); ++i) {
      text_ += fmt::format("{}_total{{class=\"{}xx\"}} {}\n", name, i, context.answers[i].load());
    }
  }
  std::string end() && { return std::move(text_) + "# EOF\n"; }

 private:
  std::string text_;
};

}  // namespace

std::string metrics_text(const Context& context) {
  const Store::Counts counts = context.store.counts();
  Exposition out;
  out.counter("stonecall_events_stored", "Events committed since the start.", counts.stored);
  out.counter("stonecall_events_repeated", "Posts of events that stood already.", counts.again);
  out.counter("stonecall_events_conflicting", "Events refused: same id, other content.",
              counts.refused);
  out.counter("stonecall_commits", "Transactions committed.", counts.commits);
  out.counter("stonecall_posts_failed", "Posts that the store could not take.", counts.failed);
  out.counter("stonecall_live_posts", "Posts over WebSocket.", context.live_posts.load());
  out.counter("stonecall_consoles_dropped", "Slow consoles moved back to catch-up.",
              context.hub.dropped_to_catch_up());
  out.counter("stonecall_connections_turned_away", "Connections over the limit.",
              context.connections.turned_away());
  out.gauge("stonecall_newest_seq", "Number of the newest event.", context.hub.newest());
  out.gauge("stonecall_events_waiting", "Events waiting for a commit.", counts.waiting);
  out.gauge("stonecall_consoles", "Open live connections.", context.hub.consoles());
  out.gauge("stonecall_connections", "Open connections.", context.connections.open());
  out.gauge("stonecall_events_damaged", "Events read that are not as they were stored.",
            counts.damaged);
  out.gauge("stonecall_store_writable", "1 while posts are taken.",
            context.store.write_fault() ? 0 : 1);
  out.answers(context);
  return std::move(out).end();
}

protocol::Json health(const Context& context) {
  protocol::Json json;
  const auto fault = context.store.write_fault();
  json["status"] = fault ? std::string(to_string(fault->kind)) : "ok";
  if (fault) json["detail"] = fault->what;
  if (const auto damaged = context.store.counts().damaged) json["damaged"] = damaged;
  json["newest"] = context.hub.newest();
  json["consoles"] = context.hub.consoles();
  json["time"] = to_string(context.clock.now());
  json["speed"] = context.clock.speed();
  return json;
}

}  // namespace stonecall::server
