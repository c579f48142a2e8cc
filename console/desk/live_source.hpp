#pragma once

#include <filesystem>
#include <optional>
#include <string>

#include "console/desk/publisher.hpp"
#include "console/desk/source.hpp"
#include "protocol/client.hpp"

namespace stonecall::desk {

struct LiveSetup {
  protocol::ServerAddress server;
  std::string token;
  std::string words;             ///< the server as it was named, for the title line
  std::filesystem::path unsent;  ///< where posts that could not go out wait for
                                 ///< the next start; empty: nowhere
  /// Posted in this name once all that the server has was heard and no plan was among it.
  std::optional<protocol::Plan> plan;
  std::string name;
};

/// An exercise as it happens. Posts are shown at once; until the server has them they count as
/// waiting, and one that it refuses is taken out again and said so.
class LiveSource : public Source {
 public:
  LiveSource(LiveSetup setup, Workers workers, Wake wake);
  ~LiveSource() override;

  std::shared_ptr<const View> view() const override { return publisher_.view(); }
  void post(protocol::EventPtr event) override;

 private:
  void work(std::stop_token stop);
  void rouse();
  void give(const protocol::Plan& plan, protocol::Instant now);

  const LiveSetup setup_;
  Publisher publisher_;

  std::mutex mutex_;
  std::condition_variable_any changed_;
  bool roused_ = false;
  std::vector<protocol::EventPtr> ours_;  ///< posted since the worker last looked

  protocol::Client client_;
  std::jthread thread_;
};

}  // namespace stonecall::desk
