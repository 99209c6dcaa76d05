// SPDX-License-Identifier: GPL-3.0-or-later
#include "ui/tools/ToolBench.h"

#include "ui/tools/MarkEdits.h"

namespace trammel::ui {
namespace {

constexpr double kReach_screen = 10.0;  // screen px around the pointer
constexpr double kRivalZoom = 5.0;      // screen px for a px: lines 3 px apart can then be told and hit

}  // namespace

ToolBench::ToolBench(Document& document, Choice& choice, PhotoCanvas& canvas, QObject* parent)
    : QObject(parent),
      document_(document),
      choice_(choice),
      canvas_(canvas),
      context_{document,
               choice,
               [this]() -> const MarkScene& { return canvas_.scene(); },
               [this] { return kReach_screen / canvas_.view().scale(); },
               [this](const Error& error) { Q_EMIT complaint(error); },
               [this] { refresh(); },
               [this](const QPointF& photo, double least) { canvas_.bringIntoSight(photo, least); }},
      tool_(std::make_unique<SelectTool>(context_)) {
    connectCanvas();
    connect(&choice_, &Choice::changed, this, &ToolBench::refresh);
    connect(&document_, &Document::changed, this, [this](const DocumentChange& change) {
        if (change.opened || (change.survey && asks(kind_))) take(ToolKind::Select);
        refresh();
    });
}

ToolBench::~ToolBench() { canvas_.setPainter({}); }

void ToolBench::connectCanvas() {
    connect(&canvas_, &PhotoCanvas::pressed, this, [this](const QPointF& p) {
        if (kind_ == ToolKind::Select || onPhotograph(p)) return tool_->press(p);
        Q_EMIT complaint({ErrorCode::Refused, "lies beside the photograph, where nothing can be seen",
                          "this click", "click on the picture"});
    });
    connect(&canvas_, &PhotoCanvas::dragged, this, [this](const QPointF& p) { tool_->drag(p); });
    connect(&canvas_, &PhotoCanvas::released, this, [this](const QPointF& p) { tool_->release(p); });
    connect(&canvas_, &PhotoCanvas::hovered, this, [this](const QPointF& p) { tool_->hover(p); });
    connect(&canvas_, &PhotoCanvas::finishAsked, this, [this] { tool_->finish(); });
    connect(&canvas_, &PhotoCanvas::backAsked, this, [this] { tool_->stepBack(); });
    connect(&canvas_, &PhotoCanvas::keyAsked, this, [this](QChar letter) { tool_->key(letter); });
    connect(&canvas_, &PhotoCanvas::deleteAsked, this, [this] {
        tool_->remove();
        refresh();
    });
    connect(&canvas_, &PhotoCanvas::cancelAsked, this, [this] {
        // First what is unfinished, then the chosen feature, then the tool itself.
        if (tool_->cancel()) return refresh();
        if (!asks(kind_) && kind_ != ToolKind::Offers && !choice_.feature().empty())
            return choice_.setFeature({});
        take(ToolKind::Select);
    });
    canvas_.setPainter([this](QPainter& painter, const ViewTransform& view) { tool_->paint(painter, view); });
}

bool ToolBench::onPhotograph(const QPointF& p) const {
    const survey::Station* s = survey::find(document_.survey().stations, choice_.station());
    return s && p.x() >= -0.5 && p.y() >= -0.5 && p.x() <= s->photo.width - 0.5 &&
           p.y() <= s->photo.height - 0.5;
}

ToolKind ToolBench::toolFor(survey::FeatureKind kind) {
    switch (kind) {
        case survey::FeatureKind::Corner:
            return ToolKind::Corner;
        case survey::FeatureKind::Edge:
            return ToolKind::Edge;
        case survey::FeatureKind::Hole:
            return ToolKind::Hole;
        case survey::FeatureKind::Arc:
            return ToolKind::Arc;
        case survey::FeatureKind::Slot:
            return ToolKind::Slot;
        case survey::FeatureKind::Curve:
            return ToolKind::Curve;
    }
    return ToolKind::Select;
}

void ToolBench::take(ToolKind kind) {
    if (kind == kind_) return;
    const auto stroke = [&](survey::FeatureKind feature) {
        return std::make_unique<StrokeTool>(context_, feature,
                                            [this](const survey::Id& mark) { Q_EMIT marked(mark); });
    };
    switch (kind) {
        case ToolKind::CornerFit:
        case ToolKind::Rivals:
        case ToolKind::Offers:
            return;  // only by askForEdges, askForRival, offer
        case ToolKind::Select:
            tool_ = std::make_unique<SelectTool>(context_);
            break;
        case ToolKind::Corner:
            tool_ = stroke(survey::FeatureKind::Corner);
            break;
        case ToolKind::Edge:
            tool_ = stroke(survey::FeatureKind::Edge);
            break;
        case ToolKind::Hole:
            tool_ = stroke(survey::FeatureKind::Hole);
            break;
        case ToolKind::Arc:
            tool_ = stroke(survey::FeatureKind::Arc);
            break;
        case ToolKind::Slot:
            tool_ = stroke(survey::FeatureKind::Slot);
            break;
        case ToolKind::Curve:
            tool_ = stroke(survey::FeatureKind::Curve);
            break;
        case ToolKind::Trail:
            tool_ = std::make_unique<TrailTool>(
                context_, [this](const survey::Id& station) { Q_EMIT groundWanted(station); },
                [this](const TrailWish& wish) { Q_EMIT trailGiven(wish); });
            break;
        case ToolKind::Reference:
            tool_ = std::make_unique<ReferenceTool>(context_);
            break;
        case ToolKind::Outline:
            tool_ = std::make_unique<OutlineTool>(context_);
            break;
    }
    kind_ = kind;
    Q_EMIT taken(kind);
    refresh();
}

void ToolBench::askForEdges(const survey::Id& mark) {
    const ToolKind before = kind_;
    tool_ = std::make_unique<CornerFitTool>(
        context_, mark, [this, before](const survey::Id& id, const std::vector<Vec2>& along) {
            take(asks(before) || before == ToolKind::Offers ? ToolKind::Select : before);
            Q_EMIT edgesGiven(id, along);
        });
    kind_ = ToolKind::CornerFit;
    Q_EMIT taken(kind_);
    refresh();
}

void ToolBench::askForRival(const survey::Id& mark, const std::vector<fit::Rival>& rivals,
                            const RivalChoice& before) {
    const ToolKind last = kind_;
    tool_ = std::make_unique<RivalTool>(
        context_, mark, rivals, before, [this, last](const survey::Id& id, const RivalChoice& choice) {
            take(asks(last) || last == ToolKind::Offers ? ToolKind::Select : last);
            Q_EMIT rivalChosen(id, choice);
        });
    kind_ = ToolKind::Rivals;
    if (!rivals.empty() && !rivals.front().line.empty()) {
        const Vec2& middle = rivals.front().line[rivals.front().line.size() / 2];
        canvas_.bringIntoSight({middle.x(), middle.y()}, kRivalZoom);
    }
    Q_EMIT taken(kind_);
    refresh();
}

void ToolBench::offer(const survey::Id& station, const std::vector<fit::Offer>& offers) {
    tool_ = std::make_unique<OfferTool>(context_, station, offers,
                                        [this](const fit::Offer& offer, const fit::Rival& chosen) {
                                            Q_EMIT rivalOfOfferChosen(offer, chosen);
                                        });
    kind_ = ToolKind::Offers;
    Q_EMIT taken(kind_);
    refresh();
}

/// Tools that ask one question about one mark: what changes the survey answers or outdates it.
bool ToolBench::asks(ToolKind kind) { return kind == ToolKind::CornerFit || kind == ToolKind::Rivals; }

QString ToolBench::words() const { return tool_->words(); }
ReferenceTool* ToolBench::reference() { return dynamic_cast<ReferenceTool*>(tool_.get()); }
TrailTool* ToolBench::trail() { return dynamic_cast<TrailTool*>(tool_.get()); }
OfferTool* ToolBench::offers() { return dynamic_cast<OfferTool*>(tool_.get()); }
RivalTool* ToolBench::rivals() { return dynamic_cast<RivalTool*>(tool_.get()); }
OutlineTool* ToolBench::outline() { return dynamic_cast<OutlineTool*>(tool_.get()); }

void ToolBench::refresh() {
    canvas_.setKeys(tool_->keys());
    canvas_.update();
    Q_EMIT wordsChanged();
}

}  // namespace trammel::ui
