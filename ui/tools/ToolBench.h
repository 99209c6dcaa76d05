// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <QObject>
#include <memory>

#include "ui/canvas/PhotoCanvas.h"
#include "ui/document/Choice.h"
#include "ui/document/Document.h"
#include "ui/tools/CornerFitTool.h"
#include "ui/tools/OfferTool.h"
#include "ui/tools/OutlineTool.h"
#include "ui/tools/ReferenceTool.h"
#include "ui/tools/RivalTool.h"
#include "ui/tools/SelectTool.h"
#include "ui/tools/StrokeTool.h"
#include "ui/tools/TrailTool.h"

namespace trammel::ui {

enum class ToolKind {
    Select,
    Corner,
    Edge,
    Hole,
    Arc,
    Slot,
    Curve,
    Trail,
    Reference,
    Outline,
    CornerFit,
    Rivals,
    Offers
};

/// Holds the tool in hand and leads the canvas' doings to it.
class ToolBench : public QObject {
    Q_OBJECT
  public:
    ToolBench(Document& document, Choice& choice, PhotoCanvas& canvas, QObject* parent = nullptr);
    ~ToolBench() override;

    ToolKind kind() const { return kind_; }
    void take(ToolKind kind);
    /// The tool that marks features of this kind.
    static ToolKind toolFor(survey::FeatureKind kind);

    /// Begins the two clicks that a corner's fit needs.
    void askForEdges(const survey::Id& mark);
    /// Asks which of several edges a mark means.
    void askForRival(const survey::Id& mark, const std::vector<fit::Rival>& rivals,
                     const RivalChoice& before);
    /// Shows the marks that are on offer in a photograph.
    void offer(const survey::Id& station, const std::vector<fit::Offer>& offers);

    QString words() const;
    ReferenceTool* reference();
    OutlineTool* outline();
    OfferTool* offers();
    RivalTool* rivals();
    TrailTool* trail();

  Q_SIGNALS:
    void taken(trammel::ui::ToolKind kind);
    void wordsChanged();
    void complaint(const trammel::Error& error);
    void marked(const std::string& mark);
    void rivalChosen(const std::string& mark, const trammel::ui::RivalChoice& choice);
    void rivalOfOfferChosen(const trammel::fit::Offer& offer, const trammel::fit::Rival& chosen);
    void groundWanted(const std::string& station);
    void trailGiven(const trammel::ui::TrailWish& wish);
    void edgesGiven(const std::string& mark, const std::vector<trammel::Vec2>& along);

  private:
    void connectCanvas();
    bool onPhotograph(const QPointF& p) const;
    void refresh();
    static bool asks(ToolKind kind);

    Document& document_;
    Choice& choice_;
    PhotoCanvas& canvas_;
    ToolContext context_;
    std::unique_ptr<Tool> tool_;
    ToolKind kind_ = ToolKind::Select;
};

}  // namespace trammel::ui
